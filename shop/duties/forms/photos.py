"""The box for a photograph."""

from typing import Any

from django import forms

from shop.duties import photos
from shop.duties.photos import KeptPhoto


class PhotoField(forms.FileField):
    """A photograph: made anew and kept at once; cleans to a KeptPhoto, or None."""

    widget = forms.FileInput(
        attrs={
            "accept": photos.ACCEPT,
            "data-most-bytes": str(photos.MOST_BYTES),
            "data-most": f"{photos.MOST_BYTES // 1_000_000} MB",
            "data-instead": "Take the photograph smaller.",
        }
    )

    def __init__(self, *, required: bool = False) -> None:
        super().__init__(label="Photograph", required=required)
        self.error_messages["required"] = "Choose a photograph."
        self.error_messages["empty"] = "That file is empty. Choose another."
        self.error_messages["invalid"] = "The photograph did not come through. Choose it again."

    def clean(self, data: Any, initial: Any = None) -> KeptPhoto | None:
        upload = super().clean(data, initial)
        if not upload:
            return None
        try:
            return photos.keep(upload)
        except ValueError as wrong:
            raise forms.ValidationError(str(wrong)) from wrong
