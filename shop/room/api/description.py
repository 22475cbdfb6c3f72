"""The interface in OpenAPI 3.1, made of the same tables by which readings are judged."""

from functools import cache
from typing import Any

from django.urls import reverse

from shop.calc import units
from shop.room.api.body import MOST_BODY, MOST_READINGS
from shop.room.api.pace import OF_ADDRESS, OF_INSTRUMENT
from shop.room.intake import AHEAD, BACK
from shop.room.kinds import KINDS
from shop.room.models import ReadingKind
from shop.room.sent import REASONS

Schema = dict[str, Any]


def _ref(name: str) -> Schema:
    return {"$ref": f"#/components/schemas/{name}"}


def _reading(kind: ReadingKind) -> Schema:
    """One kind: its units, and what it can be at all in the first of them."""
    about = KINDS[kind]
    stored = units.default_unit(about.quantity)
    low, high = about.possible
    return {
        "type": "object",
        "title": about.name,
        "description": f"{about.place}. {about.note} What lies outside {low:g} to {high:g} {stored} is refused.",
        "properties": {
            "kind": {"const": kind.value},
            "at": _ref("Moment"),
            "value": {"type": "number"},
            "unit": {"enum": list(units.UNITS[about.quantity])},
        },
        "required": ["kind", "at", "value", "unit"],
        "additionalProperties": False,
    }


_COUNT: Schema = {"type": "integer", "minimum": 0}


def _schemas() -> dict[str, Schema]:
    return {
        "Moment": {
            "type": "string",
            "format": "date-time",
            "description": "When it was read, with its offset from UTC (RFC 3339).",
            "examples": ["2026-01-31T08:15:00Z"],
        },
        "Reading": {"oneOf": [_reading(kind) for kind in ReadingKind]},
        "Batch": {
            "type": "object",
            "properties": {
                "readings": {
                    "type": "array",
                    "minItems": 1,
                    "maxItems": MOST_READINGS,
                    "items": _ref("Reading"),
                }
            },
            "required": ["readings"],
            "additionalProperties": False,
        },
        "Outcome": {
            "type": "object",
            "properties": {
                "outcome": {
                    "enum": ["kept", "known", "refused"],
                    "description": "known: it was kept before, with the same value.",
                },
                "code": {
                    "enum": list(REASONS),
                    "description": " ".join(f"{code}: {why}" for code, why in REASONS.items()),
                },
                "reason": {"type": "string", "description": "Why it was refused, for people."},
            },
            "required": ["outcome"],
            "if": {"properties": {"outcome": {"const": "refused"}}},
            "then": {"required": ["code", "reason"]},
            "additionalProperties": False,
        },
        "Outcomes": {
            "type": "object",
            "properties": {
                "kept": _COUNT,
                "known": _COUNT,
                "refused": _COUNT,
                "results": {
                    "type": "array",
                    "items": _ref("Outcome"),
                    "description": "One for each reading, in the order in which they were sent.",
                },
            },
            "required": ["kept", "known", "refused", "results"],
            "additionalProperties": False,
        },
        "Instrument": {
            "type": "object",
            "properties": {
                "name": {"type": "string"},
                "now": {**_ref("Moment"), "description": "This room's clock."},
                "every_min": {
                    "type": ["integer", "null"],
                    "minimum": 1,
                    "description": "The minutes between its reports, as the room expects them.",
                },
                "kinds": {
                    "type": "array",
                    "items": {
                        "type": "object",
                        "properties": {
                            "kind": {"enum": list(ReadingKind)},
                            "name": {"type": "string"},
                            "units": {"type": "array", "items": {"type": "string"}},
                        },
                        "required": ["kind", "name", "units"],
                        "additionalProperties": False,
                    },
                },
            },
            "required": ["name", "now", "every_min", "kinds"],
            "additionalProperties": False,
        },
        "Problem": {
            "type": "object",
            "description": "RFC 9457.",
            "properties": {
                "type": {"const": "about:blank"},
                "title": {"type": "string"},
                "status": {"type": "integer"},
                "detail": {"type": "string"},
            },
            "required": ["type", "title", "status", "detail"],
        },
    }


def _answer(words: str, schema: str, *, form: str = "application/json", **headers: Schema) -> Schema:
    return {
        "description": words,
        "content": {form: {"schema": _ref(schema)}},
        **({"headers": headers} if headers else {}),
    }


def _refusal(words: str, **headers: Schema) -> Schema:
    return _answer(words, "Problem", form="application/problem+json", **headers)


def _header(words: str, schema: Schema, *, needed: bool = True) -> Schema:
    return {"description": words, "required": needed, "schema": schema}


_UNKNOWN = "There is no such token, or it was revoked: the answer is the same."
_OFTEN = f"More than {OF_INSTRUMENT} requests a minute of one instrument, or {OF_ADDRESS} of one address."


def _everywhere() -> dict[str, Schema]:
    return {
        "401": _refusal(_UNKNOWN, **{"WWW-Authenticate": _header("Bearer", {"type": "string"})}),
        "429": _refusal(_OFTEN, **{"Retry-After": _header("Seconds to wait.", {"type": "integer", "minimum": 1})}),
    }


@cache
def described() -> Schema:
    """The description, as JSON."""
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Readings of a cutting room",
            "version": "1",
            "summary": "For instruments that report by themselves.",
            "description": (
                "Each instrument has a token of its own, which may write its own readings of the kinds it was given. "
                "Send as late and in whatever order you can: a reading is kept once by instrument, kind and moment, "
                "however often it is sent, so after a lost answer send the same again. A batch is taken in piece by "
                f"piece: the good readings are kept, the others refused with a reason. Moments up to {AHEAD.seconds} s "
                f"ahead of this room's clock and {BACK.days} days behind it are taken. A gauge reading goes to the "
                "cylinder that was connected then."
            ),
        },
        "servers": [{"url": "/"}],
        "security": [{"token": []}],
        "paths": {
            reverse("api:send-readings"): {
                "post": {
                    "operationId": "sendReadings",
                    "summary": "Send a batch of readings",
                    "description": (
                        f"Up to {MOST_READINGS} readings in {MOST_BODY // 1024} KiB. That a reading is refused is told "
                        "in its outcome, and the answer is 200 all the same."
                    ),
                    "requestBody": {
                        "required": True,
                        "content": {
                            "application/json": {
                                "schema": _ref("Batch"),
                                "examples": {
                                    "air": {
                                        "value": {
                                            "readings": [
                                                {
                                                    "kind": "room_c",
                                                    "at": "2026-01-31T08:15:00Z",
                                                    "value": 21.4,
                                                    "unit": "degC",
                                                },
                                                {
                                                    "kind": "room_rh",
                                                    "at": "2026-01-31T08:15:00Z",
                                                    "value": 46,
                                                    "unit": "percent",
                                                },
                                            ]
                                        }
                                    }
                                },
                            }
                        },
                    },
                    "responses": {
                        "200": _answer("What became of each reading.", "Outcomes"),
                        "400": _refusal("The body is no batch of readings, or holds too many. Nothing was kept."),
                        "413": _refusal("The body is too large, and was not read."),
                        "415": _refusal("The body is not said to be JSON."),
                        **_everywhere(),
                    },
                }
            },
            reverse("api:this-instrument"): {
                "get": {
                    "operationId": "thisInstrument",
                    "summary": "What this token may write, and what time it is",
                    "responses": {"200": _answer("The instrument.", "Instrument"), **_everywhere()},
                }
            },
        },
        "components": {
            "securitySchemes": {
                "token": {"type": "http", "scheme": "bearer", "description": "Shown once, when it was made."}
            },
            "schemas": _schemas(),
        },
    }
