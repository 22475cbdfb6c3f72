from django.urls import URLPattern

app_name = "morning"
urlpatterns: list[URLPattern] = []
