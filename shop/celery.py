"""The Celery application, for rooms that run on more than one machine (REDIS_URL set)."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")

app = Celery("latheside")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
