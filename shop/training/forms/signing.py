"""Forms of signing off, and of withdrawing that."""

from typing import Any

from django import forms
from django.http import HttpRequest

from shop import clock
from shop.people.brakes import HeldUp
from shop.people.models import Person
from shop.press.fields import DayField
from shop.press.forms import PressForm
from shop.press.models import Press
from shop.refusal import Refused
from shop.training import proof
from shop.training.forms.editions import EditionForm
from shop.training.models import Act
from shop.wording import in_full


class SignOffForm(EditionForm):
    """Who signs, and their password or personal code: looked at before the press, each miss counted.

    signers: who may sign here; told: whose press is taken besides, to be told why they may not; act, until: what may be
    given along, and how long at most, if anything may.
    """

    signer = forms.ModelChoiceField(
        Person.objects.none(), label="Who signs", empty_label=None, widget=forms.RadioSelect
    )
    on = DayField(label="When it was done")
    note = forms.CharField(
        max_length=500,
        required=False,
        label="What you saw",
        widget=forms.Textarea({"rows": 2}),
    )
    give = forms.BooleanField(required=False)
    until = DayField(label="Until", required=False)
    proof = forms.CharField(
        max_length=256,
        strip=False,
        label="Password or personal code",
        widget=forms.PasswordInput({"autocomplete": "off"}),
        help_text="Of whoever signs, typed by nobody else.",
    )

    not_typed = ("signer", "proof")

    def __init__(
        self,
        *args: Any,
        request: HttpRequest,
        signers: list[Person],
        told: list[Person],
        act: Act | None,
        last: Any = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.request = request
        self.held: HeldUp | None = None
        self.how = proof.how_of("")
        #: Whoever is to sign, as chosen.
        self.who: Person | None = None
        box: Any = self.fields["signer"]
        box.queryset = Person.objects.filter(pk__in=[one.pk for one in (*signers, *told)])
        box.choices = [(one.pk, box.label_from_instance(one)) for one in signers]
        if self.person in signers:
            box.initial = self.person.pk
        elif len(signers) == 1:
            box.initial = signers[0].pk
        self.fields["on"].initial = clock.today
        if act is None:
            del self.fields["give"], self.fields["until"]
        else:
            self.fields["give"].label = f"And with it, alone from today: {act.name}"
            self.fields["give"].help_text = "Everything that leads to it is done with this."
            self.fields["until"].help_text = f"Empty: until {in_full(last)}." if last else "Empty for no end."

    def clean(self) -> dict[str, Any]:
        typed = self.cleaned_data
        self.who = typed.get("signer")
        if self.errors or self.who is None:
            return typed
        self.how = proof.how_of(typed["proof"])
        if not self._was_pressed():
            try:
                proof.check(self.request, self.who, typed["proof"])
            except Refused as no:
                self.held = no if isinstance(no, HeldUp) else None
                self.add_error("proof", no.sentence)
        return typed

    def _was_pressed(self) -> bool:
        """Whether this very press went through already: its first result is given again."""
        token: Any = self.cleaned_data.get("once")
        return token is not None and Press.objects.filter(token=token, by=self.who).exists()

    @property
    def is_proven(self) -> bool:
        """Whether whoever signs gave what is theirs, whatever became of the press."""
        return self.is_bound and self.who is not None and "proof" not in self.errors

    @property
    def http_status(self) -> int:
        return self.held.status if self.held else super().http_status


class WithdrawSignOffForm(PressForm):
    why = forms.CharField(max_length=300, label="Why", error_messages={"required": "Say why; it is kept."})
