"""What does the workbook hold of the credit paper alone, a row a figure with its unit?"""

from __future__ import annotations

from model.decide.findings import Findings
from model.decide.in_ground import InGround
from model.outlook.chances import Estimate
from model.say.credit import covenant_in_words
from model.say.lender import DEBT_PARTS
from model.say.measures import unit_of
from model.say.paper import worst_month
from model.water_year import month_name

Cell = str | float | None


def credit_of(found: Findings) -> tuple[list[str], list[list[Cell]]]:
    """Arrange cover's parts, the limit that holds, crops in the ground, security, covenants."""
    header = ["what it is", "value", "unit", "range low", "range high", "strategy"]
    strategy, secured, sign = found.outcome.strategy.name, found.credit.secured, "_aud"
    rows: list[list[Cell]] = []

    def add(what: str, value: Cell, name: str = "", ends: tuple[float, ...] = ()) -> None:
        low, high = ends or (None, None)
        rows.append([what, value, unit_of(name).name, low, high, strategy])

    for name, title in DEBT_PARTS.items():
        add(f"{title}, over the run, mean", float(getattr(found.debts, name).mean()), sign)
    add("overdraft limit that holds 90 times in 100", found.limit_needed_aud, sign)
    month, bank_aud = worst_month(found)
    add(f"bank reached 90 times in 100 in {month_name(month)}, its worst month", bank_aud, sign)
    for one in found.ground:
        rows += [[*row, strategy] for row in _ground_rows(one)]
    for security in secured.securities:
        about = ", ".join(each for each in (security.basis, security.valued_on) if each)
        add(f"security: {security.asset}{f' ({about})' if about else ''}", security.value_aud, sign)
    add("value of what secures the debt", secured.value_aud, sign)
    add("the same after the stated fall", secured.fallen_aud, sign)
    peak = month_name(secured.peak.month)
    for at, often in enumerate((50, 10)):
        add(f"debt in {peak}, passed {often} times in 100", secured.peak.debt_aud[at], sign)
        for ratio, how in zip(secured.loan_to_value, ("as valued", "after the fall"), strict=True):
            add(f"loan to value then, {how}, passed {often} times in 100", ratio[at], "_frac")
    for odds in found.credit.covenants:
        said = covenant_in_words(odds)
        add(
            f"chance of breach in the run: {said}", odds.in_run.value, "_frac", odds.in_run.headline
        )
        years = (season.water_year for season in found.outcome.seasons)
        for year, each in zip(years, odds.by_season, strict=False):
            add(f"chance of breach at the end of {year}", each.value, "_frac", each.headline)
    return header, rows


def _ground_rows(one: InGround) -> list[list[Cell]]:
    """Arrange a crop in the ground."""
    name = f"{one.crop}, {one.layout}, in the ground"
    found: list[list[Cell]] = [
        [f"{name}: area", one.area_ha, "ha", None, None],
        [f"{name}: water to finish a ha", one.to_finish_ml_per_ha, "ML a ha", None, None],
        [f"{name}: cost to come", one.to_come_aud_per_ha, unit_of("_aud_per_ha").name, None, None],
        [f"{name}: pays from", one.worth_from_units_per_ha, f"{one.unit} a ha", None, None],
        [f"{name}: worth finishing", *_chance_cells(one.worth_finishing)],
    ]
    if one.finishes is not None:
        found.append([f"{name}: watered in full to the end", *_chance_cells(one.finishes)])
    return found


def _chance_cells(chance: Estimate) -> list[Cell]:
    return [chance.value, "fraction", *chance.headline]
