"""The list of people."""

from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html

from shop.people.models import Person


class PeopleTable(tables.Table):
    name = tables.Column()
    role = tables.Column()
    sign_in = tables.Column(verbose_name="Sign-in name", order_by="sign_in")
    is_active = tables.Column(verbose_name="May sign in")

    class Meta:
        model = Person
        fields = ("name", "role", "sign_in", "is_active")
        order_by = "name"
        empty_text = "Nobody is here yet."

    def render_is_active(self, value: bool) -> str:
        return "yes" if value else "no"

    def render_name(self, value: str, record: Person) -> Any:
        """The name, leading to where it is changed for those who may."""
        if not self.request.user.is_owner:
            return value
        return format_html('<a href="{}">{}</a>', reverse("people:change-person", args=[record.pk]), value)
