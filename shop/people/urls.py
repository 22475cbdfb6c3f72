from django.urls import path

from shop.people import views

app_name = "people"
urlpatterns = [
    path("", views.people, name="people"),
    path("sign-in/", views.sign_in, name="sign-in"),
    path("sign-in/code/", views.second_step, name="second-step"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("change-places/", views.switch_person, name="switch-person"),
    path("lock/", views.lock, name="lock"),
    path("still-here/", views.still_here, name="still-here"),
    path("ask-again/", views.ask_again, name="ask-again"),
    path("more/", views.more, name="more"),
    path("settings/", views.settings, name="settings"),
    path("password/", views.change_password, name="change-password"),
    path("signing-in/", views.sign_ins, name="sign-ins"),
    path("signing-in/<int:pk>/end/", views.end_sign_in, name="end-sign-in"),
    path("signing-in/end-others/", views.end_other_sign_ins, name="end-other-sign-ins"),
    path("signing-in/second-factor/on/", views.turn_on_second_factor, name="turn-on-second-factor"),
    path("signing-in/second-factor/off/", views.turn_off_second_factor, name="turn-off-second-factor"),
    path("signing-in/recovery-codes/", views.renew_recovery_codes, name="renew-recovery-codes"),
    path("signing-in/personal-code/", views.set_personal_code, name="set-personal-code"),
    path("add/", views.add_person, name="add-person"),
    path("invite/", views.invite_person, name="invite-person"),
    path("invitations/<int:pk>/withdraw/", views.withdraw_invitation, name="withdraw-invitation"),
    path("invitation/<str:secret>/", views.invitation, name="invitation"),
    path("devices/", views.shared_devices, name="shared-devices"),
    path("devices/name/", views.name_device, name="name-device"),
    path("devices/<int:pk>/end/", views.end_device, name="end-device"),
    path("<int:pk>/", views.change_person, name="change-person"),
    path("<int:pk>/password/", views.set_password, name="set-password"),
    path("<int:pk>/second-factor/", views.take_off_second_factor, name="take-off-second-factor"),
    path("<int:pk>/same/", views.settle_same, name="settle-same"),
    path("room/", views.change_room, name="change-room"),
    path("room/signing-in/", views.change_sign_in_rules, name="change-sign-in-rules"),
]
