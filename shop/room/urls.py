from django.urls import URLPattern

app_name = "room"
urlpatterns: list[URLPattern] = []
