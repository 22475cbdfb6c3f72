"""Pages about the room."""

from django.http import HttpResponse

from shop.people import actions
from shop.people.forms import ChangeRoomForm, ChangeSignInRulesForm
from shop.people.queries import the_room
from shop.people.requests import PersonRequest
from shop.press.pages import press_page, writes


@writes(actions.change_room)
def change_room(request: PersonRequest) -> HttpResponse:
    room = the_room()
    form = ChangeRoomForm(request.POST or None, person=request.user, row=room)
    return press_page(
        request,
        form,
        actions.change_room,
        said=lambda changed: f"The room is saved: {changed.name}, {changed.zone}.",
        to="people:change-room",
    )


@writes(actions.change_sign_in_rules)
def change_sign_in_rules(request: PersonRequest) -> HttpResponse:
    form = ChangeSignInRulesForm(request.POST or None, person=request.user, row=the_room())
    return press_page(
        request,
        form,
        actions.change_sign_in_rules,
        said="How people sign in here is saved.",
        to="people:change-sign-in-rules",
    )
