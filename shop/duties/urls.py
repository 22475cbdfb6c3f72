from django.urls import path

from shop.duties import views

app_name = "duties"
urlpatterns = [
    path("meters/", views.meters, name="meters"),
    path("meters/<int:pk>/", views.meter, name="meter"),
    path("meters/<int:pk>/reset/", views.reset_meter, name="reset-meter"),
    path("meters/<int:pk>/change/", views.change_meter, name="change-meter"),
]
