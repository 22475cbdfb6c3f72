"""The addresses of safety, in blocks by topic."""

from django.urls import URLPattern, path

from shop.safety import views

app_name = "safety"
urlpatterns: list[URLPattern] = [
    # Substances
    # Suppliers' sheets
    path("supplier-sheets/", views.supplier_sheets, name="supplier-sheets"),
    path("supplier-sheets/of/<slug:slug>/", views.supplier_sheets_of, name="supplier-sheets-of"),
    path("supplier-sheets/of/<slug:slug>/add/", views.add_supplier_sheet, name="add-supplier-sheet"),
    path("supplier-sheets/<int:pk>/", views.supplier_sheet, name="supplier-sheet"),
    path("supplier-sheets/<int:pk>/sheet.pdf", views.supplier_sheet_file, name="supplier-sheet-file"),
    path("supplier-sheets/<int:pk>/withdraw/", views.withdraw_supplier_sheet, name="withdraw-supplier-sheet"),
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
