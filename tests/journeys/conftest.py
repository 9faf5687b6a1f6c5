"""A real browser on a real server."""

import os
import threading
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.db import connections
from playwright.sync_api import Browser, Page, expect, sync_playwright
from pytest_django import DjangoDbBlocker

# Playwright keeps an event loop in this thread; the tests use the database between its steps.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
SIZES = {"phone": (390, 844), "desk": (1280, 900)}
PATIENCE_MS = 15_000

expect.set_options(timeout=PATIENCE_MS)

OpenPage = Callable[..., Page]


def settled(page: Page) -> None:
    """Once what came is settled: a moment after its words, its places and the focus change."""
    expect(page.locator(".htmx-settling")).to_have_count(0)


@pytest.fixture(scope="module")
def browser(
    chromium: str, django_db_setup: None, django_db_blocker: DjangoDbBlocker
) -> Iterator[Browser]:
    """For one file: no other test runs under Playwright's loop, where connections come and go."""
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=chromium, args=ARGUMENTS)
        yield found
        found.close()
        # Under Playwright's loop this thread has connections of its own, which nobody else closes;
        # PostgreSQL drops no database that somebody is connected to.
        with django_db_blocker.unblock():
            connections.close_all()


@pytest.fixture
def server(live_server: Any, transactional_db: None) -> Iterator[str]:
    """Where the server is. No request outlives its test: the tables are emptied after it."""
    yield str(live_server.url)
    for thread in threading.enumerate():
        if "process_request_thread" in thread.name:
            thread.join(PATIENCE_MS / 1000)
            assert not thread.is_alive(), f"{thread.name} still serves"


@pytest.fixture
def open_page(browser: Browser, server: str) -> Iterator[OpenPage]:
    """Opens a fresh browser of a size and a mood, with scripts or without.

    `refused` is a status that the test is about. What a worker sends out cannot be stopped on its
    way, so that a test that stops requests opens its page without one (`kept`). At the end no page
    may have said a word of error: no refused style, no failed script.
    """
    said: list[str] = []
    told_of: list[str] = []
    contexts = []

    def make(
        *,
        size: str = "phone",
        mood: str = "day",
        scripts: bool = True,
        refused: str = "",
        kept: bool = True,
    ) -> Page:
        width, height = SIZES[size]
        context = browser.new_context(
            base_url=server,
            viewport={"width": width, "height": height},
            has_touch=size == "phone",
            java_script_enabled=scripts,
            service_workers="allow" if kept else "block",
            reduced_motion="reduce",
            color_scheme="dark" if mood == "night" else "light",
        )
        contexts.append(context)
        told_of.extend([refused] if refused else [])
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        page.on("console", lambda line: said.append(line.text) if line.type == "error" else None)
        page.on("pageerror", lambda error: said.append(str(error)))
        return page

    yield make
    for context in contexts:
        context.close()
    # A refused answer is an answer, and a page without signal asks in vain: of either the browser
    # reports an error of its own.
    ours = ["status of 422", "ERR_INTERNET_DISCONNECTED", *told_of]
    assert [line for line in said if not any(each in line for each in ours)] == []
