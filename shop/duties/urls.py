from django.urls import path, register_converter

from shop.duties import views


class PhotoName:
    """The random name of a photograph."""

    regex = "[0-9a-f]{32}"

    def to_python(self, value: str) -> str:
        return value

    def to_url(self, value: str) -> str:
        return value


register_converter(PhotoName, "photo")

app_name = "duties"
urlpatterns = [
    path("", views.due, name="due"),
    path("due.pdf", views.due_pdf, name="due-pdf"),
    path("month/", views.month, name="month"),
    path("list/", views.duties, name="duties"),
    path("add/", views.add_duty, name="add-duty"),
    path("<int:pk>/", views.duty, name="duty"),
    path("<int:pk>/card.pdf", views.duty_card, name="duty-card"),
    path("<int:pk>/do/", views.do_duty, name="do-duty"),
    path("<int:pk>/put-off/", views.put_off_duty, name="put-off-duty"),
    path("<int:pk>/not-needed/", views.not_needed, name="not-needed"),
    path("<int:pk>/change/", views.change_duty, name="change-duty"),
    path("<int:pk>/stop/", views.stop_duty, name="stop-duty"),
    path("<int:pk>/resume/", views.resume_duty, name="resume-duty"),
    path("entries/<int:pk>/", views.entry, name="entry"),
    path("entries/<int:pk>/correct/", views.correct_entry, name="correct-entry"),
    path("entries/<int:pk>/strike/", views.strike_entry, name="strike-entry"),
    path("photos/<photo:name>.jpg", views.photo, name="photo"),
    path("meters/", views.meters, name="meters"),
    path("meters/<int:pk>/", views.meter, name="meter"),
    path("meters/<int:pk>/reset/", views.reset_meter, name="reset-meter"),
    path("meters/<int:pk>/change/", views.change_meter, name="change-meter"),
]
