"""Does a new user come from a file of their own to hectares of their own, by pages alone?

As a person goes: a file that an office wrote, in acre-feet, its months as Mar-87; then what a farm
knows of itself. Clicks and typed figures are counted.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Page, expect

from tests.browser.steps import go_to, settle

NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
ETO = "62, 88, 126, 168, 195, 222, 226, 186, 161, 112, 76, 56"
RAIN = "41, 38, 40, 50, 58, 64, 76, 70, 52, 38, 42, 44"
MOST_CLICKS = 45
MOST_TYPED = 15


@dataclass
class Hand:
    """A person's hand: it counts what it does."""

    page: Page
    clicks: int = 0
    typed: int = 0

    def go(self, name: str) -> None:
        """Follow a link of the menu."""
        self.clicks += 1
        go_to(self.page, name)

    def press(self, name: str) -> None:
        """Press a button, and wait for what comes of it."""
        self.clicks += 1
        self.page.get_by_role("button", name=name, exact=True).first.click()
        settle(self.page)

    def part(self, name: str) -> None:
        """Open a part of a page."""
        self.clicks += 1
        self.page.get_by_role("radio", name=name, exact=True).click()
        expect(self.page.get_by_role("radio", name=name, exact=True)).to_be_checked()
        settle(self.page)

    def type_in(self, key: str, value: str) -> None:
        """Type a figure into the field of a key."""
        self.clicks += 1
        self.typed += 1
        field = self.page.locator(f".st-key-field-{key.replace('.', '-')} input").last
        field.fill(value)
        field.press("Enter")
        settle(self.page)


def _office_file(folder: Path) -> Path:
    """Write forty years of inflow as an office keeps them."""
    rows = ["Inflow to the storage,,", "Period,Volume (acre-feet),Remarks"]
    for at in range(12 * 41):
        wet = 1.0 + 0.8 * math.sin(at / 9.0) + 0.15 * (at * 37 % 11)
        year, month = 1984 + at // 12, at % 12
        rows.append(f"{NAMES[month]}-{year % 100:02d},{7_500.0 * wet:.0f},")
    path = folder / "gauge.csv"
    path.write_text("\n".join(rows) + "\n", "utf-8")
    return path


def test_new_user_when_a_file_and_figures_of_their_own_are_given_then_their_own_hectares(
    open_page, tmp_path: Path
) -> None:
    """From an unknown file to own hectares: nothing is said to be invented at the end."""
    page = open_page()
    hand = Hand(page)
    hand.go("Record")
    _bring(hand, _office_file(tmp_path))
    _own_valley(hand)
    _own_farm(hand)
    hand.go("Today")
    hand.type_in("farm.money.bank_aud", "350000")
    page.locator(".st-key-checklist summary").click()
    hand.clicks += 1
    _right_for_us(hand)
    expect(page.locator(".st-key-checklist")).to_have_count(0)
    hand.clicks += 1
    page.locator(".st-key-pages").get_by_role("link", name="This season").click()
    answer = page.get_by_role("heading", level=1).first
    expect(answer).to_have_text("Are the balances of September 2025 still right?")
    hand.press("Still right")
    expect(answer).to_have_text(re.compile(r"\d+ ha"))
    settle(page)
    assert "nvented" not in page.locator(".st-key-strip").inner_text()
    expect(page.get_by_text(re.compile("^Invented"))).to_have_count(0)
    assert hand.clicks <= MOST_CLICKS
    assert hand.typed <= MOST_TYPED


def _bring(hand: Hand, path: Path) -> None:
    """Bring the record: its columns and unit are seen, and shown as understood."""
    page = hand.page
    page.locator(".st-key-record_file input[type=file]").set_input_files(path)
    hand.clicks += 2  # the button and the file
    expect(page.get_by_text("January 1984", exact=True)).to_be_visible()
    expect(page.get_by_text("gauge.csv can be used: 492 months")).to_be_visible()
    settle(page)
    hand.press("Use this record in the plan")
    expect(page.get_by_text("The plan now rests on gauge.csv.")).to_be_visible()
    hand.type_in("valley.farm_eto_mm", ETO)
    hand.type_in("valley.farm_rain_mm", RAIN)


def _own_valley(hand: Hand) -> None:
    """Return the dam, and take the rest as it is."""
    hand.go("Our valley")
    hand.part("The dam")
    hand.type_in("valley.name", "Lower Teal")
    hand.type_in("valley.capacity_ml", "280000")


def _own_farm(hand: Hand) -> None:
    """Return what a farm knows by heart, group by group."""
    hand.go("Our farm")
    hand.type_in("farm.name", "Home block")
    hand.type_in("farm.licence.general_security_shares_ml", "2400")
    hand.press("The rest is right for us")
    for group, figures in {
        "Land and crops": {
            "farm.developed_ha": "420",
            "farm.crops.1.layouts.1.planned_water_ml_per_ha": "8.1",
        },
        "Costs by month": {"farm.crops.1.price_aud_per_unit": "560"},
        "Machinery, storage, bore": {},
        "Bank, loans, sales": {"farm.money.loans.1.balance_aud": "900000"},
        "Strategies": {},
    }.items():
        hand.part(group)
        for key, value in figures.items():
            hand.type_in(key, value)
        hand.press("The rest is right for us")


def _right_for_us(hand: Hand) -> None:
    """Take what is left in each step as right, from the checklist."""
    buttons = hand.page.get_by_role("button", name="Right for us as it is")
    while left := buttons.count():
        hand.clicks += 1
        buttons.first.click()
        expect(buttons).to_have_count(left - 1)
        settle(hand.page)
