from django.urls import path

from shop.room.api import views

app_name = "api"
urlpatterns = [
    path("readings/", views.send_readings, name="send-readings"),
    path("instrument/", views.this_instrument, name="this-instrument"),
    path("openapi.json", views.description, name="description"),
]
