from django.urls import path, register_converter

from shop.room import views
from shop.room.models import SUCTION, LimitKind, ReadingKind


class ReadingKindInPath:
    """A kind of reading, by its own name; any other is no page."""

    regex = "|".join(ReadingKind)

    def to_python(self, value: str) -> ReadingKind:
        return ReadingKind(value)

    def to_url(self, value: str) -> str:
        return str(ReadingKind(value))


class SuctionInPath(ReadingKindInPath):
    """A point of the vacuum line."""

    regex = "|".join(SUCTION)


class LimitKindInPath:
    """What the shop sets limits for, by its own name."""

    regex = "|".join(LimitKind)

    def to_python(self, value: str) -> LimitKind:
        return LimitKind(value)

    def to_url(self, value: str) -> str:
        return str(LimitKind(value))


register_converter(ReadingKindInPath, "reading_kind")
register_converter(SuctionInPath, "suction")
register_converter(LimitKindInPath, "limit_kind")

app_name = "room"
urlpatterns = [
    path("", views.room, name="room"),
    path("readings/", views.readings, name="readings"),
    path("readings/take/", views.take_readings, name="take-readings"),
    path("readings/<reading_kind:kind>/", views.reading, name="reading"),
    path("readings/<int:pk>/correct/", views.correct_reading, name="correct-reading"),
    path("cylinders/", views.cylinders, name="cylinders"),
    path("cylinders/add/", views.add_cylinder, name="add-cylinder"),
    path("cylinders/<int:pk>/", views.cylinder, name="cylinder"),
    path("cylinders/<int:pk>/change/", views.change_cylinder, name="change-cylinder"),
    path("cylinders/<int:pk>/explain-loss/", views.explain_loss, name="explain-loss"),
    path("cylinders/<int:pk>/stand/", views.begin_standing_test, name="begin-standing-test"),
    path("standing-tests/<int:pk>/end/", views.end_standing_test, name="end-standing-test"),
    path("standing-tests/<int:pk>/drop/", views.drop_standing_test, name="drop-standing-test"),
    path("cylinders/<int:pk>/connect/", views.connect_cylinder, name="connect-cylinder"),
    path("cylinders/<int:pk>/empty/", views.empty_cylinder, name="empty-cylinder"),
    path("cylinders/<int:pk>/return/", views.return_cylinder, name="return-cylinder"),
    path("air/", views.air, name="air"),
    path("chip/", views.chip, name="chip"),
    path("chip/cans/start/", views.start_chip_can, name="start-chip-can"),
    path("chip/cans/<int:pk>/change/", views.change_chip_can, name="change-chip-can"),
    path("chip/cans/<int:pk>/hand-over/", views.hand_over_chip, name="hand-over-chip"),
    path("chip/cans/<int:pk>/take-back/", views.take_back_can, name="take-back-can"),
    path("chip/store/", views.store_chip, name="store-chip"),
    path("chip/stored/<int:pk>/take-back/", views.take_back_chip, name="take-back-chip"),
    path("instruments/", views.instruments, name="instruments"),
    path("instruments/add/", views.add_instrument, name="add-instrument"),
    path("instruments/how/", views.instruments_how, name="instruments-how"),
    path("instruments/<int:pk>/", views.instrument, name="instrument"),
    path("instruments/<int:pk>/change/", views.change_instrument, name="change-instrument"),
    path("instruments/<int:pk>/file/", views.take_in_file, name="take-in-file"),
    path("instruments/<int:pk>/revoke/", views.revoke_instrument, name="revoke-instrument"),
    path("line/", views.line, name="line"),
    path("line/parts/<int:pk>/change/", views.change_line_part, name="change-line-part"),
    path("line/talc/", views.change_line_rules, name="change-line-rules"),
    path("line/baseline/<suction:kind>/", views.take_baseline, name="take-baseline"),
    path("limits/", views.change_limits, name="change-limits"),
    path("limits/<limit_kind:kind>/", views.change_limit, name="change-limit"),
    path("gas-use/", views.change_gas_use, name="change-gas-use"),
]
