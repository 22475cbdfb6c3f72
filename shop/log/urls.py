from django.urls import path

from shop.log import views

app_name = "log"
urlpatterns = [
    path("", views.notes, name="notes"),
    path("write/", views.write_note, name="write-note"),
    path("write/<str:about>/", views.write_note, name="write-about"),
    path("<int:pk>/", views.note, name="note"),
    path("<int:pk>/correct/", views.correct_note, name="correct-note"),
    path("<int:pk>/read/", views.read_note, name="read-note"),
]
