"""Report, unit's page and the page of a notebook of one's own: at any width, light, dark, printed, without scripts."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import OWN

PAGES = {"failing": "FV-102", "passing": "FV-101", "recorded": "FV-125", "untested": "HV-124", "unit": "", "own": OWN}
WIDTHS = (390, 820, 1280)
TOOLS = (
    "button, form, output, nav, .skip, .ways, .twin, svg title, .anchor-link, [role=status], script, style, noscript"
)
FITS = "document.documentElement.scrollWidth <= window.innerWidth"
BEYOND = """() => Array.from(document.querySelectorAll("body *"))
  .filter((each) => each.getBoundingClientRect().right > window.innerWidth + 1
    && !each.parentElement.closest("svg") && getComputedStyle(each).position !== "fixed")
  .slice(0, 5).map((each) => each.tagName + "." + each.className + " " + each.textContent.trim().slice(0, 40))"""
TEXTS = """(tools) => {
  const walk = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
  const found = [[], []];
  while (walk.nextNode()) {
    const text = walk.currentNode.textContent.trim(), box = walk.currentNode.parentElement;
    if (text && !box.closest(tools)) found[box.checkVisibility({ visibilityProperty: true }) ? 0 : 1].push(text);
  }
  return found;
}"""
ADDRESSES = """() => Array.from(document.querySelectorAll("[src], [href], [srcset], [action], [data], [poster]"))
  .flatMap((each) => ["src", "href", "srcset", "action", "data", "poster"].map((name) => each.getAttribute(name)))
  .filter((each) => each !== null)"""
AWAY = "http://127.0.0.1:9/"
STRANGE = f"""<img src="{AWAY}img" alt=""/><script src="{AWAY}script"></script><script>window.ran = true;</script>
<iframe src="{AWAY}frame" title="far"></iframe><link rel="stylesheet" href="{AWAY}sheet"/>
<object data="{AWAY}object"></object><video src="{AWAY}video"></video><b onclick="window.ran = true">Press</b>
<style>@font-face {{ font-family: far; src: url({AWAY}font) }} body {{ font-family: far }}</style>
<form action="{AWAY}form"><input type="submit" value="Send"/></form>"""


def named(name: str) -> Any:
    return pytest.param(PAGES[name], id=name)


@pytest.fixture(params=[named(name) for name in PAGES])
def file(request: pytest.FixtureRequest, demo_page: Any) -> Path:
    found = demo_page(request.param)
    assert isinstance(found, Path)
    return found


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", WIDTHS)
def test_a_page_opens_without_a_complaint_and_fits_its_window(
    open_page: Any, file: Path, width: int, scheme: str
) -> None:
    page = open_page(file, viewport={"width": width, "height": 900}, color_scheme=scheme)
    assert page.evaluate(FITS), page.evaluate(BEYOND)
    assert page.get_by_role("heading", level=1).count() == 1


def test_no_page_of_the_unit_scrolls_sideways_from_a_telephone_to_a_wall_screen(open_page: Any, demo: Path) -> None:
    files = [demo / "lime-works" / "index.html", *sorted((demo / "lime-works" / "tags").glob("*/report.html"))]
    assert len(files) > 30
    page = open_page(files[0], viewport={"width": 360, "height": 800})
    wide = {}
    for each in files:
        page.goto(each.as_uri())
        for width in (360, 2560):
            page.set_viewport_size({"width": width, "height": 800})
            if not page.evaluate(FITS):
                wide[each.parent.name, width] = page.evaluate(BEYOND)
    assert wide == {}


def test_a_page_says_the_same_without_scripts(open_page: Any, file: Path) -> None:
    size = {"width": 1280, "height": 900}
    with_scripts, _ = open_page(file, viewport=size).evaluate(TEXTS, TOOLS)
    page = open_page(file, viewport=size, java_script_enabled=False)
    # A page whose own scripts are off still answers a question that the browser asks.
    without, _ = page.evaluate(TEXTS, TOOLS)
    assert len(without) > 20
    assert without == with_scripts
    assert page.locator("main button:not(th *)").locator("visible=true").count() == 0
    assert all(each.bounding_box()["height"] > 60 for each in page.locator(".figure svg").all())


@pytest.mark.parametrize("scripts", [True, False])
def test_nothing_of_a_page_is_hidden_on_paper(open_page: Any, file: Path, scripts: bool) -> None:
    page = open_page(file, java_script_enabled=scripts, color_scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    shown, hidden = page.evaluate(TEXTS, TOOLS)
    assert len(shown) > 20
    assert hidden == []
    assert page.locator("main button:not(th *)").locator("visible=true").count() == 0


def test_paper_is_white_whatever_the_screen_is(open_page: Any, file: Path) -> None:
    page = open_page(file, color_scheme="dark")
    colours = "() => ['backgroundColor', 'color'].map((name) => getComputedStyle(document.body)[name])"
    ground, ink = page.evaluate(colours)
    assert brightness(ground) < 0.2 < 0.8 < brightness(ink)
    page.emulate_media(media="print", color_scheme="dark")
    ground, ink = page.evaluate(colours)
    assert brightness(ink) < 0.2 < 0.9 < brightness(ground)


def brightness(colour: str) -> float:
    """Mean of red, green and blue, 0 to 1; what is clear shows the paper."""
    red, green, blue, *alpha = (float(each) for each in re.findall(r"[\d.]+", colour))
    return 1.0 if alpha == [0.0] else (red + green + blue) / 3 / 255


def test_a_page_refers_to_nothing_beyond_its_folder_and_every_link_leads_somewhere(open_page: Any, demo: Path) -> None:
    folder = demo / "lime-works"
    files = [folder / "index.html", *sorted((folder / "tags").glob("*/report.html"))]
    page, astray = open_page(files[0], java_script_enabled=False), []  # the addresses as they were written
    for each in files:
        page.goto(each.as_uri())
        for address in page.evaluate(ADDRESSES):
            path, _, place = address.partition("#")
            if path.startswith("data:"):
                continue
            target = (each.parent / path.partition("?")[0]).resolve() if path else each.resolve()
            found = ":" not in path and target.is_relative_to(folder.resolve()) and target.is_file()
            if not found or (place and f'id="{place}"' not in target.read_text(encoding="utf-8")):
                astray.append((each.parent.name, address))
    assert astray == []


def test_the_policy_of_a_page_lets_nothing_off_it(browser: Any, file: Path, tmp_path: Path) -> None:
    """Whatever HTML finds its way into a page: it neither runs nor fetches anything, pressed or not."""
    strange = tmp_path / "strange.html"
    strange.write_text(file.read_text(encoding="utf-8").replace("</main>", f"{STRANGE}</main>", 1), encoding="utf-8")
    page = browser.new_page()
    asked: list[str] = []
    page.route(re.compile("^http"), lambda route: (asked.append(route.request.url), route.abort()))
    page.goto(strange.as_uri())
    page.get_by_text("Press", exact=True).click()
    page.evaluate("document.querySelector('[value=Send]').click()")  # a click waits for where it leads
    page.wait_for_timeout(500)  # milliseconds; what a click asks for is asked for at once
    assert page.evaluate("window.ran") is None
    page.close()
    assert asked == []
