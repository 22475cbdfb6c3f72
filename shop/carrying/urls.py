from django.urls import path

from shop.carrying import views

app_name = "carrying"
urlpatterns = [path("<slug:name>.<slug:ending>", views.export_list, name="export-list")]
