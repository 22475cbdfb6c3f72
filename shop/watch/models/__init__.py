"""The tables of the watch."""

from shop.watch.models.alerts import Alert, AlertStep, StepKind
from shop.watch.models.deliveries import Delivery, DeliveryKind, DeliveryState, Told
from shop.watch.models.feed import FeedEntry, FeedKey
from shop.watch.models.wishes import WatchRules, Wishes

__all__ = [
    "Alert",
    "AlertStep",
    "Delivery",
    "DeliveryKind",
    "DeliveryState",
    "FeedEntry",
    "FeedKey",
    "StepKind",
    "Told",
    "WatchRules",
    "Wishes",
]
