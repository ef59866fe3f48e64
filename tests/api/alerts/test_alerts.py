"""/alerts and /alert-messages: what programs read and do with what needs doing."""

from __future__ import annotations

from datetime import timedelta

from inventory.domain.alerts import alerts
from inventory.domain.alerts.alert_messages import AlertChannels, send_alerts
from inventory.domain.alerts.alert_webhook import WebhookSettings
from inventory.domain.catalogue import parts
from inventory.domain.common import clock
from inventory.domain.common.records import PartRecord
from tests.api.problem_details import checked_problem
from tests.factories import a_part
from tests.http_clients import ApiClient
from tests.local_servers import run_webhook_server


def short(name: str = "Lamp holder") -> PartRecord:
    """A part of which there is less than the owner wants kept: an alert."""
    return a_part(name, level=4)


def test_a_list_brings_the_alerts_up_to_now(as_viewer: ApiClient) -> None:
    assert as_viewer.get("/api/v1/alerts").json == {"items": [], "next": None}
    part = short()
    (alert,) = as_viewer.get("/api/v1/alerts").json["items"]
    assert (alert["key"], alert["state"], alert["what"], alert["what_id"]) == (
        f"reorder:{part.id}",
        "open",
        "part",
        part.id,
    )
    read = as_viewer.get(f"/api/v1/alerts/{alert['id']}")
    assert read.json == alert
    assert read.headers["ETag"]
    parts.edit_part(part.id, level=0)
    assert as_viewer.get("/api/v1/alerts").json["items"] == []
    assert [one["id"] for one in as_viewer.get("/api/v1/alerts?state=gone").json["items"]] == [alert["id"]]


def test_it_is_narrowed_by_state_and_kind_and_paged(as_tech: ApiClient) -> None:
    for number in range(3):
        short(f"Lamp holder {number}")
    first = as_tech.get("/api/v1/alerts?kind=reorder&limit=2")
    assert (len(first.json["items"]), 'rel="next"' in first.headers["Link"]) == (2, True)
    rest = as_tech.get(f"/api/v1/alerts?kind=reorder&limit=2&after={first.json['next']}")
    assert (len(rest.json["items"]), rest.json["next"]) == (1, None)
    assert as_tech.get("/api/v1/alerts?kind=late").json["items"] == []
    assert "kind" in checked_problem(as_tech.get("/api/v1/alerts?kind=cake"), 422)["errors"]
    assert "state" in checked_problem(as_tech.get("/api/v1/alerts?state=lost"), 422)["errors"]


def test_a_program_marks_as_done_postpones_and_reopens(as_tech: ApiClient) -> None:
    short()
    (alert,) = as_tech.get("/api/v1/alerts").json["items"]
    address = f"/api/v1/alerts/{alert['id']}"
    done = as_tech.post(f"{address}/done").json
    assert (done["state"], done["done_by"]) == ("done", as_tech.person.shown_as)
    until = (clock.today() + timedelta(days=5)).isoformat()
    postponed = as_tech.post(f"{address}/postpone", json={"until": until}).json
    assert (postponed["state"], postponed["postponed_until"], postponed["done"]) == ("postponed", until, None)
    assert as_tech.post(f"{address}/reopen").json["state"] == "open"
    assert alerts.alert(alert["id"]).state == "open"


def test_what_cannot_be_is_refused(as_tech: ApiClient, as_viewer: ApiClient) -> None:
    part = short()
    (alert,) = as_tech.get("/api/v1/alerts").json["items"]
    address = f"/api/v1/alerts/{alert['id']}"
    for sent in ({"until": "2020-01-01"}, {"until": "soon"}, {}):
        assert "until" in checked_problem(as_tech.post(f"{address}/postpone", json=sent), 422)["errors"]
    checked_problem(as_viewer.post(f"{address}/done"), 403, "role")
    parts.edit_part(part.id, level=0)
    alerts.refresh_alerts()
    checked_problem(as_tech.post(f"{address}/done"), 409, "alert_gone")


def test_the_owner_reads_what_went_out_and_has_a_failure_tried_again(as_owner: ApiClient, as_tech: ApiClient) -> None:
    short()
    with run_webhook_server() as inbox:
        inbox.answers = [410, 200]
        channels = AlertChannels("Harbour Street", webhook=WebhookSettings(inbox.url, "a secret of our own"))
        send_alerts(channels)
        (failed,) = as_owner.get("/api/v1/alert-messages?state=failed").json["items"]
        assert (failed["channel"], failed["attempts"], failed["error"]) == (
            "webhook",
            1,
            f"{inbox.url} answered 410.",
        )
        assert as_owner.get(f"/api/v1/alert-messages/{failed['id']}").json == failed
        again = as_owner.post(f"/api/v1/alert-messages/{failed['id']}/try-again")
        assert again.json["state"] == "waiting"
        send_alerts(channels)
        assert as_owner.get(f"/api/v1/alert-messages/{failed['id']}").json["state"] == "sent"
        checked_problem(as_owner.post(f"/api/v1/alert-messages/{failed['id']}/try-again"), 409, "not_failed")
    checked_problem(as_tech.get("/api/v1/alert-messages"), 403, "role")
