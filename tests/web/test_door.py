"""Only the page itself is let in; everybody else is turned away before anything is read."""

from __future__ import annotations

import pytest

from sumpwright.web import door
from sumpwright.web.door import LARGEST_MESSAGE, Door
from tests.web.asking import KEY, PORT, Asked, good_headers, without_net


async def inside(scope, receive, send):
    body = (await receive()).get("body", b"")
    await send({"type": "http.response.start", "status": 200, "headers": [(b"content-type", b"text/plain")]})
    await send({"type": "http.response.body", "body": b"in:" + body})


DOOR = Door(inside, PORT, KEY)


def test_the_page_is_let_in():
    answer = without_net(DOOR, Asked())
    assert (answer.status, answer.body) == (200, b"in:")
    answer = without_net(DOOR, Asked("POST", "/edit", parts=(b"{}", b"")))
    assert (answer.status, answer.body) == (200, b"in:{}")


def test_the_program_goes_without_a_key_and_the_job_does_not():
    for path, status in (("/", 200), ("/assets/x.js", 200), ("/sheet", 401), ("/assets", 401), ("/%2F", 401)):
        assert without_net(DOOR, Asked(path=path, headers=good_headers(sumpwright_key=""))).status == status


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        (good_headers(host="evil.example"), 403),
        (good_headers(host=f"127.0.0.1.evil.example:{PORT}"), 403),
        (good_headers(host=f"rebound.example:{PORT}"), 403),
        (good_headers(host="127.0.0.1"), 403),
        (good_headers(host="127.0.0.1:80"), 403),
        (good_headers(host=f"192.168.1.7:{PORT}"), 403),
        (good_headers(host=""), 403),
        ([*good_headers(), ("host", f"127.0.0.1:{PORT}")], 403),
        (good_headers(origin="http://evil.example"), 403),
        (good_headers(origin="null"), 403),
        (good_headers(origin=f"https://127.0.0.1:{PORT}"), 403),
        (good_headers(origin="http://127.0.0.1:1"), 403),
        ([*good_headers(origin=f"http://127.0.0.1:{PORT}"), ("origin", "http://evil.example")], 403),
        (good_headers(sec_fetch_site="cross-site"), 403),
        (good_headers(sec_fetch_site="same-site"), 403),
        (good_headers(sumpwright_key="the-kez"), 401),
        (good_headers(sumpwright_key="the-key "), 401),
        (good_headers(sumpwright_key="th\xe9-key"), 401),
        ([*good_headers(), ("sumpwright-key", KEY)], 401),
    ],
)
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_others_are_turned_away(headers, status, method):
    answer = without_net(DOOR, Asked(method, "/sheet", headers=headers, parts=(b"{}",)))
    assert answer.status == status
    assert b"in:" not in answer.body
    assert "says" in answer.data


def test_the_pages_own_origin_may_ask():
    for origin in (f"http://127.0.0.1:{PORT}", f"http://localhost:{PORT}"):
        headers = good_headers(origin=origin, host=f"localhost:{PORT}", sec_fetch_site="same-origin")
        assert without_net(DOOR, Asked(headers=headers)).status == 200


def test_an_address_typed_in_opens_the_page_and_nothing_else():
    headers = good_headers(sec_fetch_site="none")
    assert without_net(DOOR, Asked(path="/", headers=headers)).status == 200
    assert without_net(DOOR, Asked(path="/sheet", headers=headers)).status == 403


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "HEAD", "OPTIONS", "TRACE", "CONNECT"])
def test_other_methods_are_not_answered(method):
    assert without_net(DOOR, Asked(method)).status == 405


def test_a_message_of_another_kind_or_too_long_is_not_read():
    form = good_headers(content_type="application/x-www-form-urlencoded")
    assert without_net(DOOR, Asked("POST", "/edit", headers=form, parts=(b"a=b",))).status == 415
    plain = good_headers(content_type="text/plain")
    assert without_net(DOOR, Asked("POST", "/edit", headers=plain, parts=(b"{}",))).status == 415
    told = good_headers(content_length=str(LARGEST_MESSAGE + 1))
    assert without_net(DOOR, Asked("POST", "/edit", headers=told, parts=(b"{}",))).status == 413
    odd = good_headers(content_length="-5")
    assert without_net(DOOR, Asked("POST", "/edit", headers=odd, parts=(b"{}",))).status == 413
    untold = tuple(b" " * 65536 for _ in range(LARGEST_MESSAGE // 65536 + 1))
    assert without_net(DOOR, Asked("POST", "/edit", parts=untold)).status == 413
    assert without_net(DOOR, Asked(query="x" * 3000)).status == 414


def test_a_message_that_dawdles_is_given_up(monkeypatch):
    monkeypatch.setattr(door, "SECONDS_FOR_A_MESSAGE", 0.05)
    slow = Asked("POST", "/edit", parts=(b"{", b"}", b" ", b" "), seconds_between=0.03)
    assert without_net(DOOR, slow).status == 408


def test_every_answer_forbids_what_is_not_the_pages_own():
    for asked in (Asked(), Asked(path="/"), Asked(headers=good_headers(host="evil.example"))):
        policy = without_net(DOOR, asked).headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "http" not in policy
        assert "frame-ancestors 'none'" in policy
    headers = without_net(DOOR, Asked()).headers
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert "access-control-allow-origin" not in headers
