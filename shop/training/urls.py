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
]
