"""People and doors: passphrases are hashed well, guessing is slowed, and somebody always owns the bench."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime, timedelta

import pytest
from argon2 import extract_parameters
from argon2.profiles import RFC_9106_LOW_MEMORY

from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid, NotAllowed
from inventory.domain.jobs import people
from inventory.store.tables import Person
from tests.factories import PASSPHRASE, a_job, a_person

pytestmark = pytest.mark.usefixtures("bench")
MORNING = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


def test_a_passphrase_is_hashed_as_rfc_9106_recommends() -> None:
    """RFC 9106, section 4: the recommended option for little memory. Asked of a fresh process, tests hash faster."""
    code = "from inventory.domain.jobs import people; print(people._hasher.hash('nine burnt headers'))"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert extract_parameters(result.stdout.strip()) == RFC_9106_LOW_MEMORY


def test_somebody_signs_in_by_name_in_any_case() -> None:
    ines = a_person(name="ines")
    person, mark = people.sign_in(" INES ", PASSPHRASE, "10.0.0.1")
    assert person.id == ines.id
    assert people.session_person(ines.id, mark) is not None


@pytest.mark.parametrize(("name", "passphrase"), [("ines", "wrong words here"), ("nobody", PASSPHRASE), ("", "")])
def test_a_wrong_pair_is_refused_without_saying_which(name: str, passphrase: str) -> None:
    a_person(name="ines")
    with pytest.raises(NotAllowed, match="That name and passphrase do not go together"):
        people.sign_in(name, passphrase, "10.0.0.1")


def test_guessing_is_slowed_more_and_more_and_forgiven_with_time() -> None:
    a_person(name="ines")
    with clock.freeze_at(MORNING):
        for _ in range(people.FAILURES_BEFORE_DELAY):
            with pytest.raises(NotAllowed):
                people.sign_in("ines", "wrong words here", "10.0.0.1")
        with pytest.raises(people.TooManyAttempts, match="wait 6 seconds"):
            people.sign_in("ines", PASSPHRASE, "10.0.0.2")
    with clock.freeze_at(MORNING + timedelta(seconds=6)), pytest.raises(NotAllowed):
        people.sign_in("ines", "wrong words here", "10.0.0.1")
    with clock.freeze_at(MORNING + timedelta(seconds=12)), pytest.raises(people.TooManyAttempts):
        people.sign_in("ines", PASSPHRASE, "10.0.0.1")
    with clock.freeze_at(MORNING + timedelta(minutes=20)):
        assert people.sign_in("ines", PASSPHRASE, "10.0.0.1")


def test_one_who_left_signs_in_no_more_and_their_sessions_end() -> None:
    ines = a_person(name="ines")
    _, mark = people.sign_in("ines", PASSPHRASE, "10.0.0.1")
    people.edit_person(ines.id, active=False)
    assert people.session_person(ines.id, mark) is None
    with pytest.raises(NotAllowed):
        people.sign_in("ines", PASSPHRASE, "10.0.0.1")


def test_a_new_passphrase_ends_old_sessions() -> None:
    ines = a_person(name="ines")
    _, mark = people.sign_in("ines", PASSPHRASE, "10.0.0.1")
    people.set_passphrase(ines.id, "another good one")
    assert people.session_person(ines.id, mark) is None
    assert people.sign_in("ines", "another good one", "10.0.0.1")


def test_the_last_owner_stays_one() -> None:
    owner = a_person("owner")
    for change in ({"role": "tech"}, {"active": False}):
        with pytest.raises(Conflict, match="last owner"):
            people.edit_person(owner.id, **change)  # type: ignore[arg-type]
    a_person("owner")
    assert people.edit_person(owner.id, role="tech").role == "tech"


@pytest.mark.parametrize("passphrase", ["", "short", "x" * 201, None])
def test_a_passphrase_that_is_too_short_or_long_is_refused(passphrase: str | None) -> None:
    with pytest.raises(Invalid):
        people.add_person("ines", "tech", passphrase)  # type: ignore[arg-type]
    assert not Person.select().exists()


def test_a_token_works_until_it_is_revoked_and_only_its_digest_is_kept() -> None:
    ines = a_person(name="ines")
    new_token = people.add_token(ines.id, "stock clock")
    assert new_token.secret is not None
    person = people.token_person(new_token.secret)
    assert person is not None
    assert person.id == ines.id
    assert all(token.secret is None for token in people.tokens())
    people.revoke_token(new_token.id)
    assert people.token_person(new_token.secret) is None


def test_a_closed_job_is_not_taken_in_hand() -> None:
    from inventory.domain.jobs import jobs

    ines, job = a_person(), a_job()
    people.set_job_in_hand(ines.id, job.id)
    jobs.close_job(job.id)
    assert people.person(ines.id).job_in_hand_id is None
    with pytest.raises(Conflict, match="That job is closed"):
        people.set_job_in_hand(ines.id, job.id)
