"""A real browser with the chat page in it, and the checks that hold for every page."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import axe_core_python
from selenium import webdriver
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webelement import WebElement

from tests.bot.waiting import until

BROWSER = shutil.which(os.environ.get("CHROMIUM", "chromium"))
DRIVER = shutil.which(os.environ.get("CHROMEDRIVER", "chromedriver"))
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--force-prefers-reduced-motion",
    "--host-resolver-rules=MAP www.merrowdale.example 127.0.0.1",
)
AXE = (Path(axe_core_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
AXE_RUN = """
const done = arguments[0];
axe.run(document, {resultTypes: ["violations"]}).then(
  (found) => done(found.violations.map(
    (v) => [v.id, v.nodes.map((n) => n.target.join(" ") + ": " + n.failureSummary).join("\\n")])),
  (error) => done([["axe", String(error)]]));
"""


def missing() -> str:
    """What the tests need and this machine lacks."""
    named = {"chromium": BROWSER, "chromedriver": DRIVER}
    return " and ".join(name for name, path in named.items() if not path)


def start(profile: Path) -> webdriver.Chrome:
    options = webdriver.ChromeOptions()
    options.binary_location = str(BROWSER)
    for flag in (*FLAGS, f"--user-data-dir={profile}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(str(DRIVER)))
    driver.set_script_timeout(60)
    driver.execute_cdp_cmd("Network.enable", {})
    return driver


class Page:
    """The chat page as a person meets it."""

    def __init__(self, driver: webdriver.Chrome, address: str) -> None:
        self.driver, self.address = driver, address
        self.cdp = driver.execute_cdp_cmd
        self.js = driver.execute_script
        self.unreachable = False

    # ---- the browser

    def open(self, path: str = "/") -> None:
        self.driver.get(self.address + path)
        if urlsplit(path).path == "/":
            self.until(self.ready, "the page is set up")

    def ready(self) -> bool:
        return bool(self.js("return 'ready' in document.documentElement.dataset")) and any(
            self.shown(f"#{part}") for part in ("district-form", "district-set")
        )

    def size(self, width: int, height: int = 800) -> None:
        shape = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
        self.cdp("Emulation.setDeviceMetricsOverride", shape)

    def look(self, **features: str) -> None:
        listed = [{"name": k.replace("_", "-"), "value": v} for k, v in features.items()]
        self.cdp("Emulation.setEmulatedMedia", {"features": listed})

    def offline(self, off: bool) -> None:
        self.unreachable = self.unreachable or off
        speed = {"latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
        self.cdp("Network.emulateNetworkConditions", {"offline": off, **speed})

    def block(self, *addresses: str) -> None:
        self.unreachable = self.unreachable or bool(addresses)
        self.cdp("Network.setBlockedURLs", {"urls": list(addresses)})

    def fresh(self) -> None:
        """As a new tab would be."""
        self.offline(False)
        self.block()
        self.look()
        self.size(1280)
        self.unreachable = False
        self.driver.get(self.address + "/web/mark.svg")
        self.js("sessionStorage.clear()")
        self.cdp("Network.clearBrowserCookies", {})
        for kind in ("browser", "performance"):
            self.driver.get_log(kind)

    def until(self, true: Callable[[], Any], what: str, seconds: float = 30) -> Any:
        return until(true, what, seconds)

    # ---- what is on the page

    def all(self, css: str) -> list[WebElement]:
        return self.driver.find_elements(By.CSS_SELECTOR, css)

    def one(self, css: str) -> WebElement:
        (found,) = self.all(css)
        return found

    def shown(self, css: str) -> bool:
        return any(e.is_displayed() for e in self.all(css))

    def words(self, node: WebElement) -> str:
        """All text of an element, with what is folded away or only read out."""
        return " ".join(str(node.get_attribute("innerText")).split())

    def focused(self) -> str:
        return str(self.js("return document.activeElement.id"))

    def replies(self) -> list[WebElement]:
        return self.all("#log > .bot")

    def options(self, node: WebElement) -> list[WebElement]:
        return node.find_elements(By.CSS_SELECTOR, ".options button")

    # ---- talking

    def type(self, text: str) -> None:
        self.one("#message").send_keys(text + Keys.ENTER)

    def next_reply(self, act: Callable[[], Any]) -> WebElement:
        before = len(self.replies())
        act()
        self.until(lambda: len(self.replies()) > before, "a reply came")
        return self.replies()[-1]

    def ask(self, text: str) -> WebElement:
        return self.next_reply(lambda: self.type(text))

    # ---- what must hold everywhere

    def violations(self) -> list[str]:
        """What axe-core finds, as far as it can tell by itself."""
        self.js(AXE)
        found = self.driver.execute_async_script(AXE_RUN)
        return [f"{name}\n{where}" for name, where in found]

    def too_wide(self) -> int:
        return int(self.js("return document.documentElement.scrollWidth - innerWidth"))

    def hosts(self) -> set[str]:
        """The hosts that were asked for anything since this was last looked at."""
        asked = []
        for entry in self.driver.get_log("performance"):
            event = json.loads(entry["message"])["message"]
            if event["method"] == "Network.requestWillBeSent":
                asked.append(event["params"]["request"]["url"])
        return {urlsplit(u).netloc for u in asked if u.startswith(("http", "ws"))}

    @property
    def host(self) -> str:
        return urlsplit(self.address).netloc

    def complaints(self) -> list[str]:
        """Errors in the console; a network that a test cut off is none."""
        said = [e["message"] for e in self.driver.get_log("browser") if e["level"] == "SEVERE"]
        return [s for s in said if not (self.unreachable and "net::ERR_" in s)]

    def cookies(self) -> list[str]:
        return [c["name"] for c in self.cdp("Network.getAllCookies", {})["cookies"]]
