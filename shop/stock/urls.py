from django.urls import path

from shop.stock import views

app_name = "stock"
urlpatterns = [
    path("", views.items, name="items"),
    path("items/add/", views.add_item, name="add-item"),
    path("items/<int:pk>/", views.item, name="item"),
    path("items/<int:pk>/change/", views.change_item, name="change-item"),
    path("items/<int:pk>/plan/", views.plan_item, name="plan-item"),
    path("items/<int:pk>/receive/", views.receive_delivery, name="receive-delivery"),
    path("lots/", views.lots, name="lots"),
    path("lots/<int:pk>/", views.lot, name="lot"),
    path("lots/<int:pk>/use/", views.use_stock, name="use-stock"),
    path("lots/<int:pk>/test/", views.test_stock, name="test-stock"),
    path("lots/<int:pk>/spoil/", views.spoil_stock, name="spoil-stock"),
    path("lots/<int:pk>/return/", views.return_stock, name="return-stock"),
    path("lots/<int:pk>/count/", views.count_lot, name="count-lot"),
    path("lots/<int:pk>/hold/", views.hold_lot, name="hold-lot"),
    path("lots/<int:pk>/release/", views.release_lot, name="release-lot"),
    path("lots/<int:pk>/correct/", views.correct_lot, name="correct-lot"),
    path("labels/lots/", views.lot_labels, name="lot-labels"),
    path("labels/lots.pdf", views.lot_labels_pdf, name="lot-labels-pdf"),
    path("labels/shelf/", views.shelf_labels, name="shelf-labels"),
    path("labels/shelf.pdf", views.shelf_labels_pdf, name="shelf-labels-pdf"),
    path("ledger/", views.ledger, name="ledger"),
    path("ledger/<int:pk>/reverse/", views.reverse_movement, name="reverse-movement"),
    path("suppliers/", views.suppliers, name="suppliers"),
    path("suppliers/add/", views.add_supplier, name="add-supplier"),
    path("suppliers/<int:pk>/change/", views.change_supplier, name="change-supplier"),
    path("defects/", views.defects, name="defects"),
    path("defects/add/", views.add_defect, name="add-defect"),
    path("defects/<int:pk>/change/", views.change_defect, name="change-defect"),
]
