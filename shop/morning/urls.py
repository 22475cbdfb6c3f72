from django.urls import path

from shop.morning import views

app_name = "morning"
urlpatterns = [
    path("", views.today, name="today"),
    path("first-things/put-away/", views.put_away_first_things, name="put-away-first-things"),
    path("check/", views.make_check, name="make-check"),
    path("check/latest/correct/", views.correct_latest_check, name="correct-latest-check"),
    path("checks/", views.checks, name="checks"),
    path("checks/<int:pk>/", views.check, name="check"),
    path("checks/<int:pk>/correct/", views.correct_check, name="correct-check"),
    path("checks/<int:pk>/overrule/", views.overrule_check, name="overrule-check"),
    path("checks/<int:pk>/paper/", views.check_paper, name="check-paper"),
    path("checks/<int:pk>/check.pdf", views.check_pdf, name="check-pdf"),
    path("questions/", views.change_questions, name="change-questions"),
    path("questions/add/", views.add_question, name="add-question"),
    path("questions/<int:pk>/", views.change_question, name="change-question"),
    path("questions/<int:pk>/move/", views.move_question, name="move-question"),
    path("questions/<int:pk>/switch/", views.switch_question, name="switch-question"),
]
