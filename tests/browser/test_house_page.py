"""A house by thumb: begun, planned, corrected, its instruments, and a visit begun there."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.test_pages_for_everyone import check
from tests.pages import Server, ready, sent
from ventwright.actions.record import (
    entries_since,
    look_at_visit,
    open_house,
    open_instrument,
    open_ledger,
)
from ventwright.house import DamperKind, House, Instrument

MESA = "/houses/juniper-mesa"


def fill(page: Page, **values: str) -> None:
    """Type into the open form by its labels; the choice of a word by its value."""
    for label, text in values.items():
        box = page.get_by_label(label.replace("_", " "), exact=True)
        if box.evaluate("(e) => e.tagName") == "SELECT":
            box.select_option(text)
        else:
            box.fill(text)


def save(page: Page) -> None:
    page.click("dialog.part button.main")
    expect(page.locator("dialog.part")).to_have_count(0)


def unfold(page: Page, list_path: str) -> None:
    box = page.locator(f'details[data-list="{list_path}"]')
    if box.get_attribute("open") is None:
        box.locator("> summary").click()


def add(page: Page, list_path: str, **values: str) -> None:
    unfold(page, list_path)
    page.click(f'details[data-list="{list_path}"] > [data-new]')
    fill(page, **values)
    save(page)


def house_of(server: Server, house_id: str) -> House:
    with open_ledger(server.url) as ledger:
        return open_house(ledger, house_id).house


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_house_is_begun_planned_and_visited(
    size: str, server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page(size, locale="de-DE")
    page.goto(server.address)
    page.wait_for_selector("html[data-ready=yes]")
    page.click("#new-house")
    fill(page, Name="Haus am Bühl", Floor_area="128,5", Altitude="412")
    page.click("dialog.part button.main")
    page.wait_for_url("**/houses/haus-am-buhl")
    page.wait_for_selector("html[data-ready=yes]")
    add(page, "rooms", Name="Bad", Kind="bathroom")
    add(page, "rooms", Name="Schlafen", Kind="bedroom", Floor_area="14,2")
    add(
        page,
        "systems",
        Name="Lüftung",
        Ventilation_unit="unit in the hall",
        Exchanger_recovers="energy",
    )
    system = "systems/luftung"
    add(page, f"{system}/fan_settings", Name="Stufe 2", What_it_is_for="continuous")
    add(
        page, f"{system}/branches", Side="supply", Damper="iris", Where_the_damper_is_turned="hatch"
    )
    add(
        page, f"{system}/terminals", Side="supply", Room="schlafen", Branch="b1",
        **{"Target: design flow": "32,5", "Band: least": "30", "Band: most": "36"},
    )  # fmt: skip
    add(page, f"{system}/terminals", Side="extract", Room="bad", **{"Target: design flow": "32,5"})
    check(page, 360 if size == "phone" else 1280)
    house = house_of(server, "haus-am-buhl")
    (found,) = house.systems
    assert [(t.id, t.room, t.branch) for t in found.terminals] == [
        ("s1", "schlafen", "b1"),
        ("x1", "bad", None),
    ]
    assert found.terminals[0].max_flow_m3_s == pytest.approx(36 / 3600)
    assert found.branches[0].damper is not None
    assert found.branches[0].damper.kind is DamperKind.IRIS
    assert house.floor_area_m2 == pytest.approx(128.5)
    page.fill("#technician", "A. Sample")
    page.click("#begin button.main")
    page.wait_for_url("**/visits/*")
    page.wait_for_selector("html[data-ready=yes]")
    s1 = page.locator('[data-group="terminals"] [data-station="terminal:s1"]')
    expect(s1).to_contain_text("Schlafen")
    # 32,5 is shown as the page's own figures are, without a digit that a flow does not need.
    expect(s1).to_contain_text("m³/h")


def test_mistake_is_told_at_its_field_and_nothing_typed_is_lost(
    server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone")
    ready(page, server.address + MESA)
    page.click('[data-path="systems/hrv/terminals/s1"]')
    page.get_by_label("Place", exact=True).fill("over the door")
    flow = page.get_by_label("Target: design flow", exact=True)
    flow.fill("about 40")
    page.click("dialog.part button.main")
    wrong = page.locator("dialog.part .wrong")
    expect(wrong).to_have_count(1)
    expect(wrong).to_contain_text("Target: design flow")
    check(page, 360)
    assert page.evaluate("document.activeElement.value") == "about 40"
    expect(page.get_by_label("Place", exact=True)).to_have_value("over the door")
    fill(page, **{"Target: design flow": "40", "Band: least": "50", "Band: most": "45"})
    page.click("dialog.part button.main")
    # What does not fit the rest of the plan is told at its field too.
    expect(wrong).to_contain_text("minimum is above its maximum")
    fill(page, **{"Band: least": "38"})
    save(page)
    sent(page)
    terminal = house_of(server, "juniper-mesa").systems[0].terminals[0]
    assert terminal.place == "over the door"
    assert terminal.design_flow_m3_s == pytest.approx(40 / 3600)


def test_changes_wait_on_the_phone_while_the_server_is_away(
    server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone")
    ready(page, server.address + MESA)
    page.click('[data-path="systems/hrv/terminals/s2"]')
    server.kill()
    page.get_by_label("Place", exact=True).fill("west wall")
    page.click("dialog.part button.main")
    expect(page.locator("dialog.part")).to_have_count(0, timeout=15_000)
    expect(page.locator("#outbox")).to_have_text("1 waiting")
    expect(page.locator("#waiting")).to_contain_text("Terminal s2")
    # A visit is not begun on a plan that the record does not know.
    page.fill("#technician", "A. Sample")
    page.click("#begin button.main")
    expect(page.locator("#say")).to_contain_text("still waits")
    asked: list[str] = []

    def stay(dialog: object) -> None:
        asked.append(dialog.type)  # type: ignore[attr-defined]
        dialog.dismiss()  # type: ignore[attr-defined]

    page.on("dialog", stay)
    page.close(run_before_unload=True)
    page.wait_for_timeout(300)
    assert asked == ["beforeunload"]
    server.start()
    sent(page)
    expect(page.locator('[data-path="systems/hrv/terminals/s2"]')).to_contain_text("west wall")
    assert house_of(server, "juniper-mesa").systems[0].terminals[1].place == "west wall"


def test_two_people_change_one_terminal_and_the_second_is_told(
    server: Server, open_page: Callable[..., Page]
) -> None:
    one, other = open_page("phone"), open_page("phone")
    for page in (one, other):
        ready(page, server.address + MESA)
        page.click('[data-path="systems/hrv/terminals/s3"]')
        page.get_by_label("Place", exact=True).fill("high" if page is one else "low")
    save(one)
    other.click("dialog.part button.main")
    expect(other.locator("dialog.part .say")).to_contain_text("someone else changed this part")
    assert house_of(server, "juniper-mesa").systems[0].terminals[2].place == "high"


def test_instrument_is_registered_changed_and_carried(
    server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone")
    ready(page, server.address + MESA)
    page.click("#new-instrument")
    fill(page, Name="Vane 100", Kind="vane_meter", Calibrated_on="2026-02-01")
    save(page)
    page.click("#instruments >> text=Vane 100")
    page.click("dialog.part >> text=Velocity")
    fill(page, **{"Velocity: accuracy, part of the reading ±": "3", "Velocity: range to": "20"})
    check(page, 360)
    save(page)
    with open_ledger(server.url) as ledger:
        opened = open_instrument(ledger, "vane-100")
    assert opened.number == 2
    assert opened.instrument.velocity is not None
    assert opened.instrument.velocity.accuracy_of_reading_frac == pytest.approx(0.03)
    for box in page.locator("#carried input").all():
        box.uncheck()
    page.get_by_label("Vane 100", exact=True).check()
    page.fill("#technician", "A. Sample")
    page.click("#begin button.main")
    page.wait_for_url("**/visits/*")
    with open_ledger(server.url) as ledger:
        visit = look_at_visit(ledger, page.url.rpartition("/")[2]).visit
    assert [i.id for i in visit.instruments] == ["vane-100"]


def test_instrument_is_taken_along_on_a_visit_that_has_begun(
    server: Server, open_page: Callable[..., Page]
) -> None:
    made = {"id": "c1", "instrument_id": "hood", "texts": {"kind": "flow_hood", "name": "Hood 7"}}
    page = open_page("phone")
    page.request.post(f"{server.address}/api/instruments", data=made)
    ready(page, f"{server.address}/visits/{server.visit}")
    page.click("#carry")
    check(page, 360)
    page.click('[data-instrument="hood"]')
    sent(page)
    chosen = page.locator("#entry-instrument")
    for _ in range(40):
        # Offered as soon as the page knows of it.
        page.click('[data-group="terminals"] [data-station="terminal:s1"]')
        is_offered = "Hood 7" in chosen.inner_text()
        page.click("#entry-close")
        if is_offered:
            break
        page.wait_for_timeout(250)
    assert is_offered
    # What is learnt of it later replaces what the visit knew, and both are kept.
    seen = page.request.get(f"{server.address}/api/instruments").json()["instruments"][0]["sha256"]
    more = {"calibrated_on": "2026-02-01"}
    change = {"id": "c2", "instrument_id": "hood", "seen_sha256": seen, "texts": more}
    assert page.request.post(f"{server.address}/api/instruments", data=change).ok
    page.click("#carry")
    page.click('[data-instrument="hood"]')
    expect(page.locator("#carried")).to_have_count(0)
    sent(page)
    with open_ledger(server.url) as ledger:
        opened = look_at_visit(ledger, server.visit)
        kept = [one.entry.what for one in entries_since(ledger, server.visit)]
    (hood,) = [one for one in opened.visit.instruments if one.id == "hood"]
    assert hood.calibrated_on is not None
    assert len([one for one in kept if isinstance(one, Instrument) and one.id == "hood"]) == 2
    assert not opened.folded.contests


def test_parts_are_taken_out_and_pieces_put_in(
    server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("desk")
    page.on("dialog", lambda dialog: dialog.accept())
    ready(page, server.address + MESA)
    page.click('[data-path="systems/hrv/terminals/x4"]')
    ducts = 'dialog.part [data-list="systems/hrv/terminals/x4/ducts"]'
    page.click(f"{ducts} > summary")
    page.click(f"{ducts} > [data-new]")
    fill(page, Kind="round", Inside_diameter="125", Length="2.5")
    save(page)
    unfold(page, "surfaces")
    page.click('[data-path="surfaces/outdoor-duct"]')
    page.click("dialog.part button.quiet")
    expect(page.locator('[data-path="surfaces/outdoor-duct"]')).to_have_count(0)
    house = house_of(server, "juniper-mesa")
    assert house.systems[0].terminals[-1].ducts[-1].diameter_m == pytest.approx(0.125)
    assert len(house.surfaces) == 2
    # A table of the unit, line by line.
    page.click('[data-path="systems/hrv"]')
    tables = 'dialog.part [data-list="systems/hrv/ventilation_unit/exchanger_tables"]'
    page.click(f"{tables} > summary")
    page.click(f"{tables} > [data-path] >> nth=0")
    page.get_by_label("Pressure, line 1", exact=True).fill("19.5")
    save(page)
    tables_of = house_of(server, "juniper-mesa").systems[0].ventilation_unit.exchanger_tables
    assert tables_of[0].points[0].pressure_pa == pytest.approx(19.5)
    assert tables_of[1] == house.systems[0].ventilation_unit.exchanger_tables[1]


def test_house_with_a_stroke_in_its_id_is_opened_from_the_list(
    server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone")
    page.goto(server.address)
    page.wait_for_selector("html[data-ready=yes]")
    page.click("#new-house")
    fill(page, Name="Mill", Short_name="2026/03")
    page.click("dialog.part button.main")
    page.wait_for_url("**/houses/2026%2F03")
    page.goto(server.address)
    page.click("text=Mill")
    page.wait_for_selector("html[data-ready=yes]")
    expect(page.locator("#plan")).to_contain_text("House: Mill")
    page.fill("#technician", "A.")
    page.click("#begin button.main")
    page.wait_for_url("**/visits/*")
    page.wait_for_selector("html[data-ready=yes]")
    expect(page.locator("#back")).to_have_attribute("href", "/houses/2026%2F03")


@pytest.mark.parametrize(("size", "width"), [("phone", 360), ("desk", 1280)])
@pytest.mark.parametrize(("locale", "scheme"), [("en-US", "light"), ("de-DE", "dark")])
def test_page_and_every_form_fit_and_can_be_used_by_everyone(
    size: str,
    width: int,
    locale: str,
    scheme: str,
    server: Server,
    open_page: Callable[..., Page],
) -> None:
    page = open_page(size, locale=locale, scheme=scheme)
    ready(page, server.address + MESA)
    page.evaluate("document.querySelectorAll('#plan details').forEach((one) => (one.open = true))")
    check(page, width)
    opened = []
    buttons = [*page.locator("#plan [data-new]").all(), page.locator("#new-instrument")]
    known = [page.locator(f'[data-path="{path}"]') for path in ("", "systems/hrv/terminals/s1")]
    for button in [*buttons, *known]:
        button.click()
        for summary in page.locator("dialog.part details > summary").all():
            summary.click()
        check(page, width)
        opened.append(page.locator("#part-title").inner_text())
        page.keyboard.press("Escape")
    assert len(set(opened)) >= 11


def test_keyboard_alone_changes_a_target(server: Server, open_page: Callable[..., Page]) -> None:
    page = open_page("desk")
    ready(page, server.address + MESA)
    page.locator('[data-path="systems/hrv/terminals/s5"]').focus()
    page.keyboard.press("Enter")
    label = page.get_by_label("Target: design flow", exact=True)
    for _ in range(12):
        if label.evaluate("(e) => e === document.activeElement"):
            break
        page.keyboard.press("Tab")
    page.keyboard.press("Control+a")
    page.keyboard.type("35,5")
    page.keyboard.press("Enter")
    expect(page.locator("dialog.part")).to_have_count(0)
    sent(page)
    terminal = house_of(server, "juniper-mesa").systems[0].terminals[4]
    assert terminal.design_flow_m3_s == pytest.approx(35.5 / 3600)
