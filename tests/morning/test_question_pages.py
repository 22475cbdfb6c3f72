"""The pages of the room's own list of questions."""

from uuid import uuid4

from shop.concern import Grade
from shop.morning.models import Question
from tests.morning.makers import (
    CAN,
    EXITS,
)


def question_data(client, address, **typed):
    form = client.get(address).context["form"]
    data = {name: form.get_initial_for_field(field, name) for name, field in form.fields.items() if name != "sure"}
    return {name: value for name, value in (data | {"once": form.token} | typed).items() if value is not None}


def test_a_question_is_added(desk, asked):
    data = question_data(
        desk, "/questions/add/", place="Bench", kind="yes_no", text="Is the kettle off?", grade_if_no="1"
    )
    assert desk.post("/questions/add/", data)["Location"] == "/questions/"
    assert desk.post("/questions/add/", data).status_code == 302
    assert Question.objects.filter(text="Is the kettle off?", grade_if_no=Grade.NOTE).count() == 1


def test_a_question_is_changed_and_a_stale_save_shows_both(desk, asked, owner, client_of):
    address = f"/questions/{asked[CAN].pk}/"
    mine = question_data(desk, address, text="Is the can shut?")
    theirs = question_data(desk, address, text="Is the can closed and away?")
    assert client_of(owner).post(address, theirs).status_code == 302
    answer = desk.post(address, mine)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "Is the can closed and away?" in page
    assert 'value="Is the can shut?"' in page
    again = mine | {"version": answer.context["form"]["version"].value(), "once": str(uuid4())}
    assert desk.post(address, again).status_code == 302
    assert Question.objects.get(pk=asked[CAN].pk).text == "Is the can shut?"


def test_questions_move_and_are_left_out(desk, asked):
    move, switch = f"/questions/{asked[CAN].pk}/move/", f"/questions/{asked[CAN].pk}/switch/"
    assert desk.post(move, {"once": str(uuid4()), "way": "up"})["Location"] == "/questions/"
    assert list(Question.objects.values_list("text", flat=True))[:2] == [CAN, EXITS]
    assert desk.post(switch, {"once": str(uuid4()), "to": "off"}).status_code == 302
    assert desk.get("/questions/").status_code == 200  # which shows the messages that name it
    assert CAN not in desk.get("/check/").content.decode()
    assert "Left out for now" in desk.get("/questions/").content.decode()
    assert desk.post(switch, {"once": str(uuid4()), "to": "on"}).status_code == 302
    assert desk.post(move, {"way": "up"}).status_code == 422
    assert desk.post(switch, {"once": str(uuid4()), "to": "sideways"}).status_code == 422


def test_every_button_of_the_list_has_a_token_of_its_own(desk, asked):
    page = desk.get("/questions/").content.decode()
    tokens = [part.split('"')[0] for part in page.split('name="once" value="')[1:]]
    assert len(tokens) == len(set(tokens)) == 2 * len(asked)
