"""Page and server speak from one schema."""

from __future__ import annotations

from tests.web.write_messages import TARGET, written


def test_the_pages_messages_are_those_of_the_server():
    assert TARGET.read_text("utf-8") == written(), "run: python -m tests.web.write_messages"
