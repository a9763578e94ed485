"""One table says who may do what."""

import pytest

from app.workflow.permissions import PERMISSIONS, Verb, may, refusal
from app.workflow.words import Role


def test_every_verb_is_in_the_table() -> None:
    assert set(PERMISSIONS) == set(Verb)


@pytest.mark.parametrize("verb", list(Verb))
def test_nobody_signed_in_may_do_nothing(verb: Verb) -> None:
    assert not may(None, verb)


@pytest.mark.parametrize("verb", list(Verb))
def test_each_role_may_all_that_the_one_before_may(verb: Verb) -> None:
    writer, machinist, owner = (may(role, verb) for role in Role)
    assert owner
    assert machinist or not writer


@pytest.mark.parametrize(
    "verb",
    [Verb.TAKE_IN, Verb.RECORD_CONSENT, Verb.EDIT_PRICES, Verb.HAND_OVER, Verb.RECORD_RECEIVED],
)
def test_the_service_writer_runs_the_counter(verb: Verb) -> None:
    assert may(Role.SERVICE_WRITER, verb)


@pytest.mark.parametrize(
    "verb",
    [
        Verb.RECORD_READING,
        Verb.STRIKE_READING,
        Verb.MAKE_SETTING,
        Verb.CUT,
        Verb.PLACE_HOLD,
        Verb.RELEASE_HOLD,
        Verb.PRESS_RING,
        Verb.SIGN,
    ],
)
def test_measuring_to_signing_is_the_machinists(verb: Verb) -> None:
    assert may(Role.MACHINIST, verb)
    assert not may(Role.SERVICE_WRITER, verb)


@pytest.mark.parametrize("verb", [Verb.EDIT_RULES, Verb.EDIT_PEOPLE, Verb.DEVIATE_PAST_LIMIT])
def test_rules_people_and_deviations_past_a_limit_are_the_owners(verb: Verb) -> None:
    assert may(Role.OWNER, verb)
    assert not may(Role.MACHINIST, verb)


def test_a_refusal_names_who_may() -> None:
    assert refusal(Verb.STRIKE_READING) == "Only a machinist or an owner may strike readings."
    assert refusal(Verb.EDIT_RULES) == "Only an owner may change shop rules."
