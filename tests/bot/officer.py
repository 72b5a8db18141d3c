"""An officer in a browser, for the tests of the officer's pages.

Import the fixtures `chrome` and `officer` where they are used, and mark the module with `NEEDS`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.bot import browser
from tests.bot.browser import Page
from tests.bot.staff import PASSWORD, Staff, with_account

NEEDS = pytest.mark.skipif(bool(browser.missing()), reason=f"{browser.missing()} is not installed")
NAME = "page-officer"
SIZES = ((360, 800), (1280, 900))


@pytest.fixture(scope="module")
def officer_driver(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    driver = browser.start(tmp_path_factory.mktemp("officer-profile"))
    yield driver
    driver.quit()


@pytest.fixture
def officer(officer_driver: Any, site: Any, running: Any) -> Iterator[Page]:
    """A page signed in as an officer. Afterwards: no error in the browser, no third party."""
    with_account(running.data, NAME, "officer")
    page = Page(officer_driver, site.address)
    page.fresh()
    enter(page)
    yield page
    # A refusal is an error to the browser's console; some are meant.
    assert [c for c in page.complaints() if "with a status of 4" not in c] == []
    assert page.hosts() <= {page.host}


def enter(page: Page) -> None:
    """Sign in."""
    page.driver.get(page.address + "/officer/sign-in")
    page.one("#name").send_keys(NAME)
    page.one("#password").send_keys(PASSWORD)
    page.one("main form button").click()
    page.until(lambda: page.all(".sign-out"), "signed in")


def see(page: Page, path: str) -> None:
    """Open one of the officer's pages."""
    page.driver.get(page.address + path)
    page.until(lambda: page.all("main h1"), f"{path} is there")


@pytest.fixture
def staff(site: Any, running: Any) -> Staff:
    """An officer without a browser, for forms and pages."""
    with_account(running.data, NAME, "officer")
    return Staff(site.address, "/officer").sign_in(NAME)


def fits(page: Page, path: str) -> None:
    """Fail unless a page is without a violation axe can find, and no wider than the screen."""
    for width, height in SIZES:
        page.size(width, height)
        see(page, path)
        assert page.violations() == []
        assert page.too_wide() <= 0
