"""The addresses of safety, in blocks by topic."""

from django.urls import URLPattern

app_name = "safety"
urlpatterns: list[URLPattern] = [
    # Substances
    # Suppliers' sheets
    # The room's own sheets
    # Papers and the wall
    # Places
    # Incidents
]
