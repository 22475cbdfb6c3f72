"""What is done before the head goes down: the room's own list."""

from typing import ClassVar

from django.db import models


class HeadStep(models.Model):
    """A step before the head goes down. place: where it stands in their order, which is the order they are done in."""

    text = models.CharField("what is done", max_length=160)
    place = models.PositiveSmallIntegerField(default=100)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["place", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["text"], name="cutting_step_once"),
        ]

    def __str__(self) -> str:
        return self.text
