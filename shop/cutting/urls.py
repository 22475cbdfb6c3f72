from django.urls import URLPattern

app_name = "cutting"
urlpatterns: list[URLPattern] = []
