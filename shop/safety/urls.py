"""The addresses of safety, in blocks by topic."""

from django.urls import URLPattern, path

from shop.safety import views

app_name = "safety"
urlpatterns: list[URLPattern] = [
    # Substances
    # Suppliers' sheets
    # The room's own sheets
    path("", views.hazards, name="hazards"),
    # Papers and the wall
    # Places
    # Incidents
]
