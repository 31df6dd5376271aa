"""A real browser on a real service: what the tests of the pages drive, and how they look at them."""

from __future__ import annotations

import base64
import shutil
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from knockon.api.app import create_app
from knockon.api.settings import Allowance, Settings
from knockon.query.desk import Desk

CHROMIUM = shutil.which("chromium")
DRIVER = shutil.which("chromedriver")
AXE = Path(__file__).parent / "axe" / "axe.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
_FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--disable-dev-shm-usage", "--window-size=1280,900",
)  # fmt: skip


@contextmanager
def serving(desk: Desk, settings: Settings | None = None) -> Iterator[str]:
    """A service on a free port of this machine; gives its address."""
    allowed = Allowance(rate=1000, burst=1000, seconds=120)
    app = create_app(desk, replace(settings or Settings(), allowance=allowed))
    listening = socket.socket()
    listening.bind(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", ws="none"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join(20)
        listening.close()


@contextmanager
def driving(profile: Path) -> Iterator[Page]:
    """A browser with a profile of its own; the test is skipped where there is none."""
    webdriver = pytest.importorskip("selenium.webdriver", reason="selenium is not installed")
    if CHROMIUM is None or DRIVER is None:
        pytest.skip("no chromium with chromedriver here: apt-get install chromium chromium-driver")
    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for flag in (*_FLAGS, f"--user-data-dir={profile}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(DRIVER))
    try:
        yield Page(driver)
    finally:
        driver.quit()


class Page:
    """What a person does with a page, in the words of the tests. Waits until things are there."""

    def __init__(self, driver: Any) -> None:
        self.driver = driver

    def open(
        self, address: str, width: int = 1280, height: int = 900, *, dark: bool = False
    ) -> None:
        """Go there, in a window of that size."""
        size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 500}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        still = {"name": "prefers-reduced-motion", "value": "reduce"}
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [scheme, still]})
        self.driver.get(address)

    def until(self, condition: Any, what: str) -> Any:
        """What `condition` gives, as soon as it gives something."""
        from selenium.common.exceptions import StaleElementReferenceException
        from selenium.webdriver.support.ui import WebDriverWait

        wait = WebDriverWait(
            self.driver, 30, 0.03, ignored_exceptions=[StaleElementReferenceException]
        )
        return wait.until(lambda _: condition(), f"waited in vain for {what}")

    def all(self, selector: str, text: str = "") -> list[Any]:
        """Every element of a selector that holds a text."""
        found = self.driver.find_elements("css selector", selector)
        return [each for each in found if text in each.get_property("textContent")]

    def one(self, selector: str, text: str = "") -> Any:
        """The first element that is there, as soon as it is."""
        return self.until(lambda: next(iter(self.all(selector, text)), None), f"{selector} {text}")

    def press(self, selector: str, text: str = "") -> None:
        """Press it, wherever on the page it is."""

        def pressed() -> bool:
            found = next(iter(self.all(selector, text)), None)
            if found is None:
                return False
            self.driver.execute_script("arguments[0].scrollIntoView({block:'center'})", found)
            found.click()
            return True

        self.until(pressed, f"{selector} {text} to press")

    def keys(self, *keys: str) -> None:
        """Type into whatever has the focus."""
        from selenium.webdriver import ActionChains

        ActionChains(self.driver).send_keys(*keys).perform()

    def focus(self, selector: str, text: str = "") -> None:
        """Put the focus there, as Tab would."""
        self.driver.execute_script("arguments[0].focus()", self.one(selector, text))

    @property
    def focused(self) -> str:
        """What a screen reader would say of whatever has the focus."""
        active = self.driver.switch_to.active_element
        return str(active.get_attribute("aria-label") or active.get_property("textContent"))

    @property
    def text(self) -> str:
        """All that can be read on the page, opened or not."""
        return str(self.driver.execute_script("return document.querySelector('main').textContent"))

    def answered(self, question: str) -> None:
        """Wait for the answer to a question."""
        self.until(
            lambda: self.all("#answer:not([aria-busy]) .said", question),
            f"the answer to {question}",
        )

    def sideways(self) -> int:
        """By how many pixels the page is wider than its window."""
        return int(
            self.driver.execute_script("return document.documentElement.scrollWidth - innerWidth")
        )

    def faults(self, *, contrast_alone: bool = False) -> list[str]:
        """What axe finds against WCAG 2.2 AA, a line each."""
        self.driver.execute_script(AXE.read_text("utf-8"))
        run = (
            "const done = arguments[1];"
            "axe.run(document, {runOnly: arguments[0], resultTypes: ['violations']})"
            ".then(found => done(found.violations.flatMap(v => v.nodes.map("
            "n => v.id + ': ' + n.target.join(' ') + ' ' + n.failureSummary))))"
        )
        self.driver.set_script_timeout(60)
        rules = {"type": "rule", "values": ["color-contrast"]} if contrast_alone else RULES
        return list(self.driver.execute_async_script(run, rules))

    def module(self, script: str, *arguments: Any) -> Any:
        """What `script` returns, run as a function of `arguments` that may await modules."""
        self.driver.set_script_timeout(30)
        wrapped = (
            "const all = [...arguments]; const done = all.pop();"
            f"(async (...given) => {{ {script} }})(...all).then(done, e => done(String(e)))"
        )
        return self.driver.execute_async_script(wrapped, *arguments)

    def troubles(self) -> list[str]:
        """What the browser complained of, and every address asked for that is not the service's."""
        said = [each["message"] for each in self.driver.get_log("browser")]
        asked = self.driver.execute_script(
            "return performance.getEntriesByType('resource').map(e => e.name)"
            ".filter(name => !name.startsWith(location.origin))"
        )
        return [*said, *asked]

    def printed(self, width_mm: float, height_mm: float) -> bytes:
        """The page as PDF on paper of that size."""
        paper = {"paperWidth": width_mm / 25.4, "paperHeight": height_mm / 25.4}
        made = self.driver.execute_cdp_cmd("Page.printToPDF", {**paper, "printBackground": False})
        return base64.b64decode(made["data"])
