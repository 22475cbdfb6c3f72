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
    path("wall/", views.wall, name="wall"),
    path("wall/card.pdf", views.wall_card, name="wall-card"),
    path("wall/numbers/", views.keep_call_numbers, name="keep-call-numbers"),
    path("wall/shut-offs/", views.keep_shut_offs, name="keep-shut-offs"),
    path("wall/extinguishers/", views.keep_extinguishers, name="keep-extinguishers"),
    # Places
    # Incidents
]
