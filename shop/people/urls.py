from django.urls import path

from shop.people import views

app_name = "people"
urlpatterns = [
    path("", views.people, name="people"),
    path("sign-in/", views.sign_in, name="sign-in"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("more/", views.more, name="more"),
    path("settings/", views.settings, name="settings"),
    path("password/", views.change_password, name="change-password"),
    path("add/", views.add_person, name="add-person"),
    path("<int:pk>/", views.change_person, name="change-person"),
    path("<int:pk>/password/", views.set_password, name="set-password"),
    path("room/", views.change_room, name="change-room"),
]
