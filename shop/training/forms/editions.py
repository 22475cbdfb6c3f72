"""The form of what is signed or answered as it is worded: it carries the edition that the page shows."""

from typing import Any

from shop.press.changing import AsReadForm, as_read_field
from shop.training.models import Question, Step


class EditionForm(AsReadForm):
    """A form about a step or a question, `row`, of which the action takes the edition.

    Where that changed while it stood on the page, the action refuses (Changed). Then `is_changed`, and `row` is how it
    stands now.
    """

    as_read = "edition"
    edition = as_read_field()

    def __init__(self, *args: Any, row: Step | Question, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.is_changed = False
        self.show(row)

    def show(self, row: Step | Question) -> None:
        """Let the form be about the row as it is now."""
        self.row = row
        self.fields["edition"].initial = row.edition

    def look_at(self, now: Step | Question) -> None:
        self.is_changed = True
        self.show(now)
