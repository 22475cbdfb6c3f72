"""Who may do what, as data: every address of the program, who may look at it and who may press on it.

An address that is missing here fails the build. Written by hand from what a room wants: a visitor reads and presses
nothing; hands (assistant, engineer, owner) do the day's work; engineers keep the lists, limits and what is held or
overruled; the owner alone lets people in and changes the room.
"""

from dataclasses import dataclass

from shop.people.models import ENGINEERS, EVERYONE, HANDS, OWNERS

NOBODY: frozenset[str] = frozenset()


@dataclass(frozen=True)
class May:
    """look: the roles for which GET answers; press: those for which POST does something (for the rest it is refused).

    stranger: whether somebody who has not signed in is let in too. secret: the address itself carries a signed or
    secret word that stands for a sign-in and a token; such an address has tests of its own. machine: it asks for an
    instrument's own token, and a sign-in counts nothing there.
    """

    look: frozenset[str] = EVERYONE
    press: frozenset[str] = NOBODY
    stranger: bool = False
    secret: bool = False
    machine: bool = False


#: A page that only shows.
SHOWN = May()

#: For instruments, which carry a token of their own; tests/room/test_instrument_readings.py.
MACHINE = May(look=NOBODY, stranger=True, secret=True, machine=True)


def form(roles: frozenset[str]) -> May:
    """A page with one form, closed to those who may not press it."""
    return May(look=roles, press=roles)


def button(roles: frozenset[str]) -> May:
    """An address that only takes presses."""
    return May(look=NOBODY, press=roles)


PERMISSIONS: dict[str, May] = {
    # Today and the check
    "morning:today": SHOWN,
    "morning:checks": SHOWN,
    "morning:check": SHOWN,
    "morning:check-paper": SHOWN,
    "morning:check-pdf": SHOWN,
    "morning:correct-latest-check": SHOWN,  # leads on to correct-check, which asks
    "morning:make-check": form(HANDS),
    "morning:correct-check": form(HANDS),
    "morning:overrule-check": form(ENGINEERS),
    "morning:change-questions": form(ENGINEERS),
    "morning:add-question": form(ENGINEERS),
    "morning:change-question": form(ENGINEERS),
    "morning:move-question": button(ENGINEERS),
    "morning:switch-question": button(ENGINEERS),
    # Programmes
    "training:programmes": SHOWN,
    "training:programme": SHOWN,
    "training:programme-pdf": SHOWN,
    "training:add-programme": form(OWNERS),
    "training:change-programme": form(OWNERS),
    "training:copy-programme": form(OWNERS),
    "training:stop-programme": form(OWNERS),
    "training:resume-programme": form(OWNERS),
    "training:step": SHOWN,
    "training:add-step": form(OWNERS),
    "training:change-step": form(OWNERS),
    "training:move-step": form(OWNERS),
    "training:stop-step": form(OWNERS),
    "training:resume-step": form(OWNERS),
    "training:change-questions": form(OWNERS),
    # Who may do what alone
    "training:acts": SHOWN,
    "training:acts-pdf": SHOWN,
    "training:act": SHOWN,
    "training:add-act": form(ENGINEERS),
    "training:change-act": form(ENGINEERS),
    "training:stop-act": form(OWNERS),
    "training:resume-act": form(OWNERS),
    "training:give-authority": form(OWNERS),
    "training:withdraw-authority": form(ENGINEERS),
    # Containers
    "safety:containers": SHOWN,
    "safety:container": SHOWN,
    "safety:open-container": form(HANDS),
    "safety:read-level": form(HANDS),
    "safety:move-container": form(HANDS),
    "safety:finish-container": form(HANDS),
    "safety:set-open-days": form(ENGINEERS),
    # The room's log
    "log:notes": May(look=HANDS),
    "log:note": May(look=HANDS),
    "log:write-note": form(HANDS),
    "log:write-about": form(HANDS),
    "log:correct-note": form(HANDS),  # one's own only, on pressing
    "log:read-note": button(HANDS),
    # Going through a programme
    "training:next": May(look=HANDS),
    "training:board": May(look=HANDS),
    "training:enrolment": May(look=HANDS),
    "training:card": May(look=HANDS),
    "training:enrol": form(ENGINEERS),
    "training:change-enrolment": form(ENGINEERS),
    "training:end-enrolment": form(ENGINEERS),
    "training:see-changes": button(HANDS),
    "training:read-again": button(HANDS),
    "training:answer-question": form(HANDS),
    "training:sign-off": form(HANDS),  # whoever signs gives their own password or code; the authority is asked for then
    "training:withdraw-sign-off": form(ENGINEERS),
    "training:my-training-record": May(look=HANDS),
    "training:my-training-record-pdf": May(look=HANDS),
    "training:training-record": May(look=ENGINEERS),
    "training:training-record-pdf": May(look=ENGINEERS),
    "training:change-training-rules": form(OWNERS),
    # The record
    "record:record": May(look=OWNERS),
    "record:line": May(look=OWNERS),
    # Alerts, and how people are told
    "watch:alerts": SHOWN,
    "watch:ended-alerts": SHOWN,
    "watch:alert": SHOWN,
    "watch:take-alert": form(HANDS),
    "watch:give-back-alert": form(HANDS),
    "watch:snooze-alert": form(HANDS),
    "watch:settle-alert": form(HANDS),
    "watch:change-watch-rules": form(OWNERS),
    "watch:set-line": form(OWNERS),
    "watch:deliveries": May(look=OWNERS),
    "watch:change-wishes": form(EVERYONE),
    "watch:renew-feed": form(EVERYONE),
    "watch:close-feed": form(EVERYONE),
    "watch:leave": May(press=EVERYONE, stranger=True, secret=True),
    "watch:calendar-feed": May(stranger=True, secret=True),
    "watch:health": SHOWN,
    "watch:health-json": May(stranger=True),
    # People and the room
    "people:sign-in": May(press=EVERYONE, stranger=True),
    "people:sign-out": button(EVERYONE),
    "people:second-step": form(EVERYONE),  # leads to sign-in whoever has not given a password
    "people:switch-person": form(EVERYONE),  # leads to sign-in wherever no device is shared; tests of its own
    "people:lock": button(EVERYONE),
    "people:still-here": SHOWN,
    "people:ask-again": form(EVERYONE),
    "people:more": SHOWN,
    "people:settings": form(EVERYONE),
    "people:change-password": form(EVERYONE),
    "people:sign-ins": SHOWN,
    "people:end-sign-in": button(EVERYONE),  # one's own only, on pressing
    "people:end-other-sign-ins": button(EVERYONE),
    "people:turn-on-second-factor": form(EVERYONE),
    "people:turn-off-second-factor": form(EVERYONE),
    "people:renew-recovery-codes": form(EVERYONE),
    "people:set-personal-code": form(HANDS),
    "people:people": SHOWN,
    "people:invite-person": form(OWNERS),
    "people:withdraw-invitation": form(OWNERS),
    "people:invitation": May(press=EVERYONE, stranger=True, secret=True),
    "people:shared-devices": May(look=OWNERS),
    "people:name-device": form(OWNERS),
    "people:end-device": form(OWNERS),
    "people:take-off-second-factor": form(OWNERS),
    "people:settle-same": form(OWNERS),
    "people:change-sign-in-rules": form(OWNERS),
    "people:add-person": form(OWNERS),
    "people:change-person": form(OWNERS),
    "people:set-password": form(OWNERS),
    "people:change-room": form(OWNERS),
    # Stock
    "stock:items": SHOWN,
    "stock:item": SHOWN,
    "stock:lot": SHOWN,
    "stock:lots": SHOWN,
    "stock:lot-labels": SHOWN,
    "stock:lot-labels-pdf": SHOWN,  # without a choice leads on to lot-labels
    "stock:shelf-labels": SHOWN,
    "stock:shelf-labels-pdf": SHOWN,
    "stock:compare-lots": SHOWN,
    "stock:worth": May(look=ENGINEERS),
    "stock:counts": SHOWN,
    "stock:count": SHOWN,
    "stock:count-pdf": SHOWN,
    "stock:start-count": form(HANDS),
    "stock:enter-count": form(HANDS),
    "stock:add-to-count": form(HANDS),
    "stock:give-in-count": form(HANDS),
    "stock:explain-count": form(HANDS),
    "stock:agree-count": form(ENGINEERS),
    "stock:drop-count": form(HANDS),
    "stock:ledger": SHOWN,
    "stock:orders": SHOWN,
    "stock:order": SHOWN,
    "stock:expected": SHOWN,
    "stock:order-pdf": SHOWN,
    "stock:order-text": SHOWN,
    "stock:suppliers": SHOWN,
    "stock:outlook": SHOWN,
    "stock:item-outlook": SHOWN,
    "stock:supplier": SHOWN,
    "stock:defects": SHOWN,
    "stock:in-and-out": SHOWN,
    "carrying:export-list": SHOWN,  # some lists only to some roles: tests/test_carrying.py
    "stock:sheet-template": SHOWN,
    "stock:intake": May(look=ENGINEERS),
    "stock:send-sheet": form(ENGINEERS),
    "stock:answer-sheet": button(ENGINEERS),
    "stock:take-in-sheet": button(ENGINEERS),
    "stock:drop-sheet": button(ENGINEERS),
    "stock:withdraw-past-use": button(ENGINEERS),
    "stock:receive-delivery": form(HANDS),
    "stock:use-stock": form(HANDS),
    "stock:test-stock": form(HANDS),
    "stock:spoil-stock": form(HANDS),
    "stock:return-stock": form(HANDS),
    "stock:count-lot": form(HANDS),
    "stock:reverse-movement": form(HANDS),
    "stock:draft-order": form(HANDS),
    "stock:change-order": form(HANDS),
    "stock:drop-order": form(HANDS),
    "stock:promise-anew": form(HANDS),
    "stock:receive-on-order": form(HANDS),
    "stock:inspect-lot": form(HANDS),
    "stock:send-order": form(ENGINEERS),
    "stock:close-order-short": form(ENGINEERS),
    "stock:hold-lot": form(ENGINEERS),
    "stock:release-lot": form(ENGINEERS),
    "stock:correct-lot": form(ENGINEERS),
    "stock:add-item": form(ENGINEERS),
    "stock:change-item": form(ENGINEERS),
    "stock:plan-item": form(ENGINEERS),
    "stock:add-supplier": form(ENGINEERS),
    "stock:change-supplier": form(ENGINEERS),
    "stock:add-defect": form(ENGINEERS),
    "stock:change-defect": form(ENGINEERS),
    # Care
    "duties:due": SHOWN,
    "duties:due-pdf": SHOWN,
    "duties:month": SHOWN,
    "duties:duties": SHOWN,
    "duties:duty": SHOWN,
    "duties:duty-card": SHOWN,
    "duties:entry": SHOWN,
    "duties:photo": SHOWN,
    "duties:do-duty": form(HANDS),
    "duties:put-off-duty": form(HANDS),  # of what is safety-critical only engineers, on pressing
    "duties:not-needed": form(HANDS),
    "duties:correct-entry": form(HANDS),
    "duties:strike-entry": form(HANDS),
    "duties:add-duty": form(ENGINEERS),
    "duties:change-duty": form(ENGINEERS),
    "duties:stop-duty": form(ENGINEERS),
    "duties:resume-duty": form(ENGINEERS),
    "duties:meters": SHOWN,
    "duties:meter": SHOWN,
    "duties:reset-meter": form(HANDS),
    "duties:change-meter": form(ENGINEERS),
    # Cutting
    "cutting:sides": SHOWN,
    "cutting:side": SHOWN,
    "cutting:bookings": SHOWN,
    "cutting:booking": SHOWN,
    "cutting:plan-side": SHOWN,
    "cutting:costs": May(look=ENGINEERS),
    "cutting:booking-cost": May(look=ENGINEERS),
    "cutting:change-cost-figures": form(ENGINEERS),
    "cutting:trace": SHOWN,
    "cutting:trace-of": SHOWN,
    "cutting:trace-pdf": SHOWN,
    "cutting:styli": SHOWN,
    "cutting:stylus": SHOWN,
    "cutting:stylus-kinds": SHOWN,
    "cutting:reject-reasons": SHOWN,
    "cutting:lathes": SHOWN,
    "cutting:log-side": form(HANDS),
    "cutting:withdraw-side": May(look=ENGINEERS, press=HANDS),  # hands only what they logged themselves just now
    "cutting:add-booking": form(HANDS),
    "cutting:change-booking": form(HANDS),
    "cutting:finish-booking": form(HANDS),
    "cutting:reopen-booking": form(HANDS),
    "cutting:cancel-booking": form(ENGINEERS),
    "cutting:add-stylus": form(HANDS),
    "cutting:fit-stylus": form(HANDS),
    "cutting:take-off-stylus": form(HANDS),
    "cutting:look-over-stylus": form(HANDS),
    "cutting:retire-stylus": form(HANDS),
    "cutting:reinstate-stylus": form(ENGINEERS),
    "cutting:add-stylus-kind": form(ENGINEERS),
    "cutting:change-stylus-kind": form(ENGINEERS),
    "cutting:add-reject-reason": form(ENGINEERS),
    "cutting:change-reject-reason": form(ENGINEERS),
    "cutting:add-lathe": form(ENGINEERS),
    "cutting:change-lathe": form(ENGINEERS),
    "cutting:change-limits": form(ENGINEERS),
    "cutting:stylus-kind": SHOWN,
    "cutting:change-stylus": form(ENGINEERS),
    "cutting:send-stylus-away": form(HANDS),
    "cutting:take-stylus-back": form(HANDS),
    "cutting:add-tip-photo": form(HANDS),
    "cutting:tip-photo": SHOWN,
    "cutting:add-noise-level": form(HANDS),
    "cutting:strike-noise-level": form(HANDS),
    "cutting:overrule-advice": form(ENGINEERS),
    "cutting:plating": SHOWN,
    "cutting:parcel": SHOWN,
    "cutting:send-masters": form(HANDS),
    "cutting:keep-masters-back": form(HANDS),
    "cutting:send-after-all": form(HANDS),
    "cutting:note-arrival": form(HANDS),
    "cutting:report-masters": form(HANDS),
    "cutting:looking-back": SHOWN,
    # The room
    "room:instruments": SHOWN,
    "room:instruments-how": SHOWN,
    "room:instrument": SHOWN,
    "room:add-instrument": form(OWNERS),
    "room:change-instrument": form(OWNERS),
    "room:revoke-instrument": form(OWNERS),
    # What instruments ask, with a token of their own
    "api:send-readings": MACHINE,
    "api:this-instrument": MACHINE,
    "api:description": May(stranger=True),
    "room:room": SHOWN,
    "room:readings": SHOWN,
    "room:reading": SHOWN,
    "room:cylinders": SHOWN,
    "room:cylinder": SHOWN,
    "room:change-limits": SHOWN,  # the list of limits; each is changed on a page of its own
    "room:take-readings": form(HANDS),
    "room:correct-reading": form(HANDS),
    "room:add-cylinder": form(HANDS),
    "room:chip": SHOWN,
    "room:start-chip-can": form(HANDS),
    "room:change-chip-can": form(HANDS),
    "room:store-chip": form(HANDS),
    "room:take-back-chip": form(HANDS),
    "room:hand-over-chip": form(HANDS),
    "room:change-cylinder": form(HANDS),
    "room:begin-standing-test": form(HANDS),
    "room:end-standing-test": form(HANDS),
    "room:drop-standing-test": form(HANDS),
    "room:connect-cylinder": form(HANDS),
    "room:empty-cylinder": form(HANDS),
    "room:return-cylinder": form(HANDS),
    "room:change-limit": form(ENGINEERS),
    "room:change-gas-use": form(ENGINEERS),
    # Hazards: substances
    "safety:substances": SHOWN,
    "safety:substance": SHOWN,
    "safety:add-substance": form(ENGINEERS),
    "safety:change-substance": form(ENGINEERS),
    "safety:classify-substance": form(ENGINEERS),
    "safety:change-statements": form(ENGINEERS),
    "safety:change-properties": form(ENGINEERS),
    "safety:change-exposure-limits": form(ENGINEERS),
    "safety:stop-substance": form(ENGINEERS),
    "safety:resume-substance": form(ENGINEERS),
    # Hazards: suppliers' sheets
    # Hazards: the room's own sheets
    "safety:hazards": SHOWN,
    "safety:incidents": SHOWN,
    "safety:incident": SHOWN,
    "safety:incident-pdf": SHOWN,
    "safety:report-incident": form(EVERYONE),  # also without a name
    "safety:note-incident": form(HANDS),  # a word; the rest is the engineers', on pressing
    "safety:supplier-sheets": SHOWN,
    "safety:supplier-sheets-of": SHOWN,
    "safety:supplier-sheet": SHOWN,
    "safety:supplier-sheet-file": SHOWN,
    "safety:add-supplier-sheet": form(ENGINEERS),
    "safety:withdraw-supplier-sheet": form(ENGINEERS),
    "safety:hazard-sheets": SHOWN,
    "safety:hazard-sheet": SHOWN,
    "safety:sheet-version": SHOWN,
    "safety:compare-versions": SHOWN,
    "safety:hurry": SHOWN,
    "safety:hurry-sheet": SHOWN,
    "safety:hurry-worker": SHOWN,
    "safety:confirm-sheet-read": button(HANDS),
    "safety:add-sheet": form(ENGINEERS),
    "safety:write-sheet": form(ENGINEERS),
    "safety:drop-draft": form(ENGINEERS),
    "safety:stop-sheet": form(ENGINEERS),
    "safety:resume-sheet": form(ENGINEERS),
    "safety:approve-sheet": form(ENGINEERS),  # whoever holds the authority, on pressing
    "safety:withdraw-version": form(ENGINEERS),
    "safety:sheet-reading": May(look=ENGINEERS),
    "safety:change-safety-rules": form(OWNERS),
    "safety:sheet-pdf": SHOWN,
    "safety:binder": SHOWN,
    "safety:binder-pdf": SHOWN,
    "safety:make-binder": form(HANDS),
    "safety:labels": SHOWN,
    "safety:labels-pdf": SHOWN,
    "safety:wall": SHOWN,
    "safety:wall-card": SHOWN,
    "safety:keep-call-numbers": form(ENGINEERS),
    "safety:keep-shut-offs": form(ENGINEERS),
    "safety:keep-extinguishers": form(ENGINEERS),
    # Hazards: papers and the wall
    # Hazards: places
    "safety:places": SHOWN,
    "safety:place": SHOWN,
    "safety:add-place": form(ENGINEERS),
    "safety:change-place": form(ENGINEERS),
    "safety:change-kept": form(ENGINEERS),
    "safety:stop-place": form(ENGINEERS),
    "safety:resume-place": form(ENGINEERS),
    "safety:answer-finding": form(ENGINEERS),
    "safety:what-if": SHOWN,
    "safety:what-if-pdf": SHOWN,  # without figures leads on to what-if
    # Hazards: incidents
}
