from django.apps import AppConfig


class RoomConfig(AppConfig):
    name = "shop.room"
    label = "room"
