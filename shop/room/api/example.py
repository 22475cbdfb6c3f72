"""A short program for a microcontroller, shown on the page that tells how instruments report.

It keeps to MicroPython's own modules. tests/room/test_instrument_example.py runs it against the interface.
"""

EXAMPLE = '''\
# MicroPython: sends the air's temperature and humidity every minute.
# What could not be sent waits, and is sent again: nothing is kept twice.
import machine
import requests
import time

ROOM = "ROOM-ADDRESS"
TOKEN = "the token, as it was shown once"
HEAD = {"Authorization": "Bearer " + TOKEN}
MOST = 600  # as many wait at most: five hours of two a minute


def set_clock():
    """Take the time from the room, for a board that forgets it. Waits for the network."""
    while True:
        try:
            answer = requests.get(ROOM + "instrument/", headers=HEAD)
            now = answer.json()["now"]  # as in 2026-01-31T08:15:00Z
            answer.close()
            break
        except (OSError, ValueError, KeyError):
            time.sleep(60)
    year, month, day = int(now[0:4]), int(now[5:7]), int(now[8:10])
    hour, minute, second = int(now[11:13]), int(now[14:16]), int(now[17:19])
    machine.RTC().datetime((year, month, day, 0, hour, minute, second, 0))


def read_sensor():
    """Yours: degrees Celsius and per cent; None for what could not be read."""
    return 21.4, 46.0


set_clock()
waiting = []
while True:
    at = "%04d-%02d-%02dT%02d:%02d:%02dZ" % time.gmtime()[:6]
    warm, damp = read_sensor()
    for kind, value, unit in (("room_c", warm, "degC"), ("room_rh", damp, "percent")):
        if value is not None and value == value:  # what is not a number equals nothing
            waiting.append({"kind": kind, "at": at, "value": value, "unit": unit})
    waiting = waiting[-MOST:]
    try:
        some = waiting[:100]
        if some:
            answer = requests.post(ROOM + "readings/", json={"readings": some}, headers=HEAD)
            # 200: what was refused is told in it; 400: it will never be taken. Neither waits any more.
            if answer.status_code in (200, 400):
                waiting = waiting[len(some):]
            answer.close()
    except OSError:
        pass  # no network just now
    time.sleep(60)
'''
