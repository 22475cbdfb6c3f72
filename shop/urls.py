from django.urls import include, path

urlpatterns = [
    path("", include("shop.morning.urls")),
    path("", include("shop.watch.urls")),
    path("people/", include("shop.people.urls")),
    path("log/", include("shop.log.urls")),
    path("record/", include("shop.record.urls")),
    path("stock/", include("shop.stock.urls")),
    path("duties/", include("shop.duties.urls")),
    path("training/", include("shop.training.urls")),
    path("cutting/", include("shop.cutting.urls")),
    path("room/", include("shop.room.urls")),
    path("api/", include("shop.room.api.urls")),
    path("hazards/", include("shop.safety.urls")),
    path("carry/", include("shop.carrying.urls")),
]

handler400 = "shop.press.views.bad_request"
handler403 = "shop.press.views.forbidden"
handler404 = "shop.press.views.not_found"
handler500 = "shop.press.views.server_error"
