from django.urls import path

from shop.training import views

app_name = "training"
urlpatterns = [
    path("acts/", views.acts, name="acts"),
    path("acts/print/", views.acts_pdf, name="acts-pdf"),
    path("acts/add/", views.add_act, name="add-act"),
    path("acts/<slug:slug>/", views.act, name="act"),
    path("acts/<slug:slug>/change/", views.change_act, name="change-act"),
    path("acts/<slug:slug>/stop/", views.stop_act, name="stop-act"),
    path("acts/<slug:slug>/resume/", views.resume_act, name="resume-act"),
    path("acts/<slug:slug>/give/", views.give_authority, name="give-authority"),
    path("authorities/<int:pk>/withdraw/", views.withdraw_authority, name="withdraw-authority"),
    path("programmes/", views.programmes, name="programmes"),
    path("programmes/add/", views.add_programme, name="add-programme"),
    path("programmes/<int:pk>/", views.programme, name="programme"),
    path("programmes/<int:pk>/print/", views.programme_pdf, name="programme-pdf"),
    path("programmes/<int:pk>/change/", views.change_programme, name="change-programme"),
    path("programmes/<int:pk>/copy/", views.copy_programme, name="copy-programme"),
    path("programmes/<int:pk>/stop/", views.stop_programme, name="stop-programme"),
    path("programmes/<int:pk>/resume/", views.resume_programme, name="resume-programme"),
    path("programmes/<int:pk>/add-step/", views.add_step, name="add-step"),
    path("steps/<int:pk>/", views.step, name="step"),
    path("steps/<int:pk>/change/", views.change_step, name="change-step"),
    path("steps/<int:pk>/move/", views.move_step, name="move-step"),
    path("steps/<int:pk>/stop/", views.stop_step, name="stop-step"),
    path("steps/<int:pk>/resume/", views.resume_step, name="resume-step"),
    path("steps/<int:pk>/questions/", views.change_questions, name="change-questions"),
]
