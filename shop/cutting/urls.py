from django.urls import path

from shop.cutting.views import bookings, lists, sides, styli

app_name = "cutting"
urlpatterns = [
    path("log-side/", sides.log_side, name="log-side"),
    path("sides/", sides.sides, name="sides"),
    path("sides/<int:pk>/", sides.side, name="side"),
    path("sides/<int:pk>/withdraw/", sides.withdraw_side, name="withdraw-side"),
    path("bookings/", bookings.bookings, name="bookings"),
    path("bookings/add/", bookings.add_booking, name="add-booking"),
    path("bookings/<int:pk>/", bookings.booking, name="booking"),
    path("bookings/<int:pk>/change/", bookings.change_booking, name="change-booking"),
    path("bookings/<int:pk>/finish/", bookings.finish_booking, name="finish-booking"),
    path("bookings/<int:pk>/cancel/", bookings.cancel_booking, name="cancel-booking"),
    path("bookings/<int:pk>/reopen/", bookings.reopen_booking, name="reopen-booking"),
    path("plan-side/", bookings.plan_side, name="plan-side"),
    path("styli/", styli.styli, name="styli"),
    path("styli/add/", styli.add_stylus, name="add-stylus"),
    path("styli/<int:pk>/", styli.stylus, name="stylus"),
    path("styli/<int:pk>/fit/", styli.fit_stylus, name="fit-stylus"),
    path("styli/<int:pk>/take-off/", styli.take_off_stylus, name="take-off-stylus"),
    path("styli/<int:pk>/look-over/", styli.look_over_stylus, name="look-over-stylus"),
    path("styli/<int:pk>/retire/", styli.retire_stylus, name="retire-stylus"),
    path("styli/<int:pk>/reinstate/", styli.reinstate_stylus, name="reinstate-stylus"),
    path("stylus-kinds/", lists.stylus_kinds, name="stylus-kinds"),
    path("stylus-kinds/add/", lists.add_stylus_kind, name="add-stylus-kind"),
    path("stylus-kinds/<int:pk>/change/", lists.change_stylus_kind, name="change-stylus-kind"),
    path("reject-reasons/", lists.reject_reasons, name="reject-reasons"),
    path("reject-reasons/add/", lists.add_reject_reason, name="add-reject-reason"),
    path("reject-reasons/<int:pk>/change/", lists.change_reject_reason, name="change-reject-reason"),
    path("lathes/", lists.lathes, name="lathes"),
    path("lathes/add/", lists.add_lathe, name="add-lathe"),
    path("lathes/<int:pk>/change/", lists.change_lathe, name="change-lathe"),
    path("limits/", lists.change_limits, name="change-limits"),
]
