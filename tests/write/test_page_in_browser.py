"""The page in a real browser: bars open, tables sort, links lead, nothing is shut out.

Needs Chromium with its driver (Debian: chromium, chromium-driver). The accessibility check needs
axe-core (npm), whose script is named by the environment variable SCORETOOLS_AXE.
"""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from scoretools.cli.main import run

webdriver = pytest.importorskip("selenium.webdriver", reason="selenium is not installed")

SAMPLES = sorted((Path(__file__).parents[2] / "sample_scores").glob("*.musicxml"))
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
DRIVER = shutil.which("chromedriver")
AXE = os.environ.get("SCORETOOLS_AXE")

pytestmark = pytest.mark.skipif(
    not (CHROMIUM and DRIVER), reason="Chromium and its driver are not installed"
)


@pytest.fixture(scope="module", params=[SAMPLES[1], SAMPLES[4]], ids=lambda path: path.stem)
def address(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> str:
    out = tmp_path_factory.mktemp("page")
    run(["report", str(request.param), "--out", str(out), "--only", "page"])
    return (out / "report.html").as_uri()


def opened(address: str, width: int, dark: bool = False, scripts: bool = True) -> Any:
    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for flag in ("--headless=new", "--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu"):
        options.add_argument(flag)
    if not scripts:
        preferences = {"profile.managed_default_content_settings.javascript": 2}
        options.add_experimental_option("prefs", preferences)
    browser = webdriver.Chrome(options, webdriver.ChromeService(DRIVER))
    scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [scheme]})
    size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    browser.get(address)
    return browser


@pytest.fixture
def browser(address: str) -> Iterator[Any]:
    found = opened(address, 1280)
    yield found
    found.quit()


def clicked(browser: Any, link: Any) -> None:
    """Click where a bar has neither note nor line."""
    surface = link.find_element("css selector", ".bar-surface")
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", surface)
    chain = webdriver.ActionChains(browser)
    chain.move_to_element(surface).click().perform()


def test_a_bar_opens_and_closes(browser: Any) -> None:
    link = browser.find_elements("css selector", "a.bar-link")[4]
    clicked(browser, link)
    panel = browser.find_element("id", "panel")
    assert panel.is_displayed()
    assert "Bar 5" in panel.text
    assert "position" in panel.text
    browser.switch_to.active_element.send_keys(webdriver.Keys.ESCAPE)
    assert not panel.is_displayed()
    assert browser.switch_to.active_element == link


def test_the_keyboard_reaches_a_bar(browser: Any) -> None:
    browser.execute_script("document.querySelector('#part .scroll').focus()")
    for _ in range(2):
        browser.switch_to.active_element.send_keys(webdriver.Keys.TAB)
    assert browser.switch_to.active_element.get_attribute("class") == "bar-link" or (
        "bar-link" in browser.execute_script("return document.activeElement.className.baseVal")
    )
    browser.switch_to.active_element.send_keys(webdriver.Keys.ENTER)
    assert "Bar 2" in browser.find_element("id", "panel").text


def test_the_demands_are_sorted_and_filtered(browser: Any) -> None:
    table = browser.find_element("css selector", "#demands table")
    heads = table.find_elements("css selector", "thead button")

    def column(place: int) -> list[float]:
        rows = table.find_elements("css selector", "tbody tr:not([hidden])")
        cells = (row.find_elements("tag name", "td")[place] for row in rows)
        return [float(cell.get_attribute("data-sort")) for cell in cells]

    weights = column(6)
    assert weights == sorted(weights, reverse=True)
    heads[3].click()
    times = column(3)
    assert times == sorted(times)
    assert len(times) == len(weights)
    heads[3].click()
    assert column(3) == sorted(times, reverse=True)
    for choice in browser.find_elements("css selector", "#demand-filter option"):
        if choice.text == "hand shape":
            choice.click()
    shown = table.find_elements("css selector", "tbody tr:not([hidden])")
    assert 0 < len(shown) < len(weights) or len(weights) == len(shown)
    assert all(row.get_attribute("data-kind") == "hand shape" for row in shown)
    told = browser.find_element("css selector", "#demand-filter output").text
    assert told == f"{len(shown)} of {len(weights)}"


def test_a_link_leads_to_its_drill(browser: Any) -> None:
    links = browser.find_elements("css selector", "#drills article a[href^='#drill-']")
    if not links:
        pytest.skip("no drill of this piece prepares another")
    wanted = links[0].get_attribute("href").rpartition("#")[2]
    browser.execute_script("arguments[0].click()", links[0])
    assert browser.current_url.endswith(f"#{wanted}")
    assert browser.find_element("id", wanted).is_displayed()


@pytest.mark.parametrize("width", [360, 390, 768, 1280])
def test_the_page_never_scrolls_sideways(address: str, width: int) -> None:
    browser = opened(address, width)
    try:
        wide = browser.execute_script("return document.documentElement.scrollWidth")
        assert wide <= width
    finally:
        browser.quit()


def test_every_link_to_a_bar_leads_to_it_and_the_keyboard_goes_on(browser: Any) -> None:
    names = browser.execute_script(
        "return [...document.querySelectorAll('main a:not(.bar-link)')]"
        ".map((link) => link.getAttribute('href')).filter((to) => to.startsWith('#bar-'))"
    )
    assert names
    for name in set(names):
        assert browser.find_element("css selector", f"a.bar-link{name}").is_displayed()
    link = browser.find_element("css selector", "#bars a[href^='#bar-']")
    wanted = link.get_attribute("href").rpartition("#")[2]
    link.send_keys(webdriver.Keys.ENTER)
    webdriver.ActionChains(browser).send_keys(webdriver.Keys.TAB).perform()
    here = browser.execute_script("return document.activeElement.id")
    assert here == f"bar-{int(wanted.removeprefix('bar-')) + 1}"


def test_the_open_bar_explains_its_brackets(browser: Any) -> None:
    clicked(browser, browser.find_elements("css selector", "a.bar-link")[4])
    assert "without brackets is sure" in browser.find_element("id", "panel").text


def test_what_is_said_of_the_bars_is_printed(browser: Any) -> None:
    told = browser.find_element("id", "told")
    assert told.get_attribute("open") is None
    browser.execute_script("dispatchEvent(new Event('beforeprint'))")
    assert told.get_attribute("open") is not None
    browser.execute_script("dispatchEvent(new Event('afterprint'))")
    assert told.get_attribute("open") is None


@pytest.mark.parametrize("width", [390, 1280])
def test_no_exercise_is_cut_off_by_its_frame(address: str, width: int) -> None:
    browser = opened(address, width)
    try:
        over = browser.execute_script(
            "return [...document.querySelectorAll('.form svg.music')].flatMap((svg) => {"
            "  const end = svg.getBoundingClientRect().right;"
            "  return [...svg.querySelectorAll('path, polygon, rect, text, use, ellipse')]"
            "    .map((part) => part.getBoundingClientRect().right - end)"
            "    .filter((beyond) => beyond > 0.5);"
            "})"
        )
        assert over == []
    finally:
        browser.quit()


def test_without_scripts_everything_is_there(address: str) -> None:
    browser = opened(address, 1280, scripts=False)
    try:
        assert browser.find_elements("css selector", "#demands tbody tr")
        assert not browser.find_element("id", "demand-filter").is_displayed()
        clicked(browser, browser.find_elements("css selector", "a.bar-link")[2])
        assert browser.current_url.endswith("#bar-2-told")
        assert browser.find_element("id", "bar-2-told").is_displayed()
    finally:
        browser.quit()


# Source: axe-core's rules for WCAG 2.1 A and AA.
@pytest.mark.skipif(not AXE, reason="SCORETOOLS_AXE names no script of axe-core")
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_nothing_shuts_a_reader_out(address: str, width: int, dark: bool) -> None:
    browser = opened(address, width, dark)
    try:
        browser.execute_cdp_cmd("Page.setBypassCSP", {"enabled": True})
        browser.get(address)
        browser.execute_script(Path(AXE or "").read_text("utf-8"))
        found = browser.execute_async_script(
            "const done = arguments[0]; axe.run(document).then(done, (e) => done(String(e)))"
        )
        grave = [
            (one["id"], one["nodes"][0]["html"][:120])
            for one in found["violations"]
            if one["impact"] in ("serious", "critical")
        ]
        assert grave == []
    finally:
        browser.quit()
