from django.urls import path

from shop.watch import views

app_name = "watch"
urlpatterns = [
    path("watch/alerts/", views.alerts, name="alerts"),
    path("watch/alerts/over/", views.ended_alerts, name="ended-alerts"),
    path("watch/alerts/<int:pk>/", views.alert, name="alert"),
    path("watch/alerts/<int:pk>/take/", views.take_alert, name="take-alert"),
    path("watch/alerts/<int:pk>/give-back/", views.give_back_alert, name="give-back-alert"),
    path("watch/alerts/<int:pk>/snooze/", views.snooze_alert, name="snooze-alert"),
    path("watch/alerts/<int:pk>/settle/", views.settle_alert, name="settle-alert"),
    path("watch/times/", views.change_watch_rules, name="change-watch-rules"),
    path("watch/line/", views.set_line, name="set-line"),
    path("watch/mail/", views.deliveries, name="deliveries"),
    path("watch/wishes/", views.change_wishes, name="change-wishes"),
    path("watch/leave/<str:token>/", views.leave, name="leave"),
    path("watch/feed/renew/", views.renew_feed, name="renew-feed"),
    path("watch/feed/close/", views.close_feed, name="close-feed"),
    path("watch/feed/<str:secret>.ics", views.calendar_feed, name="calendar-feed"),
    path("health/", views.health_page, name="health"),
    path("health.json", views.health_json, name="health-json"),
]
