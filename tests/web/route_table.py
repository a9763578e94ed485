"""Every route with who may: a new route fails the tests until it stands here."""

from __future__ import annotations

from app.workflow.permissions import Verb

# Open to all: nothing of the shop's records can be read or changed there.
PUBLIC = None

ROUTES: dict[str, Verb | None] = {
    "GET /openapi.json": PUBLIC,
    "POST /api/calc/bore": PUBLIC,
    "POST /api/calc/clean-up": PUBLIC,
    "POST /api/calc/overcut": PUBLIC,
    "POST /api/calc/pilot": PUBLIC,
    "POST /api/calc/setting": PUBLIC,
    "POST /api/calc/setting-plan": PUBLIC,
    "POST /api/calc/spindle": PUBLIC,
    "POST /api/calc/verify": PUBLIC,
    # Coming in
    "GET /healthz": PUBLIC,
    "GET /first-owner": PUBLIC,
    "POST /first-owner": PUBLIC,
    "GET /sign-in": PUBLIC,
    "GET /sign-in/{person_id}": PUBLIC,
    "POST /sign-in/{person_id}": PUBLIC,
    "POST /sign-in-again": PUBLIC,
    "POST /sign-out": PUBLIC,
    "GET /": Verb.READ,
    "GET /my-pin": Verb.CHANGE_OWN_PIN,
    "POST /my-pin": Verb.CHANGE_OWN_PIN,
    # Office
    "GET /people": Verb.EDIT_PEOPLE,
    "POST /people": Verb.EDIT_PEOPLE,
    "GET /people/{person_id}/edit": Verb.EDIT_PEOPLE,
    "POST /people/{person_id}": Verb.EDIT_PEOPLE,
    "POST /people/{person_id}/pin": Verb.EDIT_PEOPLE,
    "POST /people/{person_id}/retire": Verb.EDIT_PEOPLE,
}

# The only thing mounted: files that are the same for every shop.
MOUNTED = ("/static",)
