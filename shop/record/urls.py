from django.urls import path

from shop.record import views

app_name = "record"
urlpatterns = [
    path("", views.record, name="record"),
    path("<int:number>/", views.line, name="line"),
]
