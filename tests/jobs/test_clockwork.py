import threading
import time

from shop.jobs import clockwork, registry


def test_it_ticks_at_once_and_again_and_stops(monkeypatch):
    ticks = []
    third = threading.Event()

    def tick():
        ticks.append(time.monotonic())
        if len(ticks) == 3:
            third.set()

    monkeypatch.setattr(registry, "run_due", tick)
    monkeypatch.setattr(clockwork, "TICK_S", 0.05)
    clock = clockwork.Clockwork()
    clock.start()
    assert third.wait(timeout=10)
    clock.stop()
    assert not clock.is_alive()
    seen = len(ticks)
    time.sleep(0.15)
    assert len(ticks) == seen


def test_a_tick_that_fails_does_not_stop_the_clock(monkeypatch, caplog):
    again = threading.Event()
    ticks = []

    def tick():
        ticks.append(1)
        if len(ticks) > 1:
            again.set()
        raise OSError("the disk is full")

    monkeypatch.setattr(registry, "run_due", tick)
    monkeypatch.setattr(clockwork, "TICK_S", 0.05)
    clock = clockwork.Clockwork()
    clock.start()
    assert again.wait(timeout=10)
    clock.stop()
    assert "the disk is full" in caplog.text


def test_a_clock_that_never_started_can_be_stopped():
    clockwork.Clockwork().stop()
