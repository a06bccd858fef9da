"""What measures are there, and how is each named, formatted and worked out? One table for all.

Command line, pages, brief and workbook draw titles, units, digits and formulas from here. A name
ends in its unit, so the unit of a measure, as of any input of a plan, is that of the longest known
ending of its name. Whether a measure is bad when high is one fact with its computation, in
`decide.amounts`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from model.decide.amounts import BAD_WHEN_HIGH
from model.say import numbers

Kind = Literal["number", "money", "share"]
Needs = Literal["nothing", "payments due", "debt"]
"""A cover needs payments due to a lender; loan to value needs something owed."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit, and how a number of it is written."""

    words: str  # as a column heading has it; {sign} is the sign of currency
    digits: int | None  # after the point; None: as many as the number has
    kind: Kind = "number"

    @property
    def name(self) -> str:
        """The unit as a person reads it."""
        return self.words.format(sign=numbers.currency_sign())

    @property
    def spreadsheet_format(self) -> str:
        """The format of a spreadsheet's cell; empty where digits are as stated."""
        if self.digits is None:
            return ""
        places = f".{'0' * self.digits}" if self.digits else ""
        return f"0{places}%" if self.kind == "share" else f"#,##0{places}"


UNITS: Final[Mapping[str, Unit]] = {
    "_ml": Unit("ML", 0),
    "_ml_per_share": Unit("ML a share", 2),
    "_ml_per_ha": Unit("ML a ha", 2),
    "_ml_per_day": Unit("ML a day", 0),
    "_ml_per_month": Unit("ML a month", 0),
    "_ml_per_year": Unit("ML a year", 0),
    "_bales_per_ha": Unit("bales a ha", 2),
    "_units_per_ha": Unit("bales or t a ha", 2),
    "_t_per_ha": Unit("t a ha", 2),
    "_aud": Unit("{sign}", 0, "money"),
    "_aud_per_ml": Unit("{sign} a ML", 0, "money"),
    "_aud_per_ha": Unit("{sign} a ha", 0, "money"),
    "_aud_per_bale": Unit("{sign} a bale", 0, "money"),
    "_aud_per_t": Unit("{sign} a t", 0, "money"),
    "_aud_per_unit": Unit("{sign} a bale or t", 0, "money"),
    "_aud_per_share": Unit("{sign} a share", 2, "money"),
    "_aud_per_year": Unit("{sign} a year", 0, "money"),
    "_ha": Unit("ha", 1),
    "_mm": Unit("mm", None),
    "_mm_per_day": Unit("mm a day", None),
    "_frac": Unit("fraction", 1, "share"),
    "_frac_per_year": Unit("fraction a year", 2, "share"),
    "_frac_per_day": Unit("fraction a day", 2, "share"),
    "pattern": Unit("fraction", 1, "share"),
    "_chance": Unit("fraction", 1, "share"),
    "_days": Unit("days", None),
    "_days_per_month": Unit("days a month", None),
    "_years": Unit("years", None),
    "years_ahead": Unit("years", None),
    "_months": Unit("months", None),
    "_day": Unit("day of the month", None),
    "before_day": Unit("days after sowing", None),
    "ends_days": Unit("days after sowing", None),
    "bales": Unit("bales", 0),
    "seasons": Unit("seasons", None),
    "count": Unit("sequences", None),
    "missed": Unit("payments", None),
    "farms_missing": Unit("farms", 1),
    "farms_past_limit": Unit("farms", 1),
    "survived": Unit("seasons", None),
    "cover": Unit("times", 2),
    "_factor": Unit("times", None),
    "_elasticity": Unit("times", None),
    "_exponent": Unit("times", None),
    "kc_initial": Unit("times", None),
    "kc_middle": Unit("times", None),
    "kc_end": Unit("times", None),
    "seed": Unit("number", None),
}
"""Units by how a name ends; the longest ending counts."""

NO_UNIT: Final = Unit("", None)


def unit_of(name: str) -> Unit:
    """Return the unit of a name, such as of a column or of a plan's key.

    Examples
    --------
    >>> unit_of("margin_aud_per_ha").name, unit_of("closing_cash_aud mean").name
    ('$ a ha', '$')
    >>> unit_of("rule: buy_up_to_ml").name, unit_of("payments_missed").name, unit_of("method").name
    ('ML', 'payments', '')
    """
    for word in name.split(" "):
        endings = [ending for ending in UNITS if word.endswith(ending)]
        if endings:
            return UNITS[max(endings, key=len)]
    return NO_UNIT


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure of a season or of a run."""

    name: str
    title: str
    formula: str = ""
    needs: Needs = "nothing"
    rare: bool = False  # its middle is mostly 0: the mean is said instead

    @property
    def unit(self) -> Unit:
        """The unit, by the ending of the name."""
        return unit_of(self.name)

    @property
    def digits(self) -> int:
        """Digits after the point, in a sentence and in a table."""
        return 0 if self.name.endswith("_ha") else self.unit.digits or 0

    @property
    def high_is_bad(self) -> bool:
        """Whether the worst tenth is the highest."""
        return self.name in BAD_WHEN_HIGH

    @property
    def heading(self) -> str:
        """Title and unit, as the heading of a column of `cell`."""
        unit = numbers.thousands_heading() if self._in_thousands else self.unit.name
        return self.title if self.unit.kind == "share" else f"{self.title}, {unit}"

    @property
    def factor(self) -> float:
        """What a value is multiplied by in a table or chart: thousands of money, percent."""
        if self._in_thousands:
            return 1e-3
        return 100.0 if self.unit.kind == "share" else 1.0

    @property
    def axis_unit(self) -> str:
        """The unit of a chart's axis, after `factor`."""
        if self._in_thousands:
            return numbers.thousands_heading()
        return "%" if self.unit.kind == "share" else self.unit.name

    def cell(self, value: float) -> str:
        """Return a value as a table has it, the unit in its heading."""
        if self._in_thousands:
            return numbers.thousands(value)
        if self.unit.kind == "share":
            return numbers.percent(value)
        return numbers.number(value, self.digits)

    def said(self, value: float) -> str:
        """Return a value with its unit, as a sentence has it."""
        if self.unit.kind == "share":
            return numbers.percent(value)
        if self.name.endswith("_aud"):
            return numbers.money(value)
        if self.unit.kind == "money":
            return numbers.money_for_each(value, self.unit.name.partition(" a ")[2])
        digits = numbers.number(value, self.digits)
        return digits if digits == numbers.NO_NUMBER else f"{digits} {self.unit.name}"

    @property
    def _in_thousands(self) -> bool:
        return self.name.endswith("_aud")


DEBT_COVER: Final = (
    "net operating income before interest, tax and depreciation ÷ (interest + principal due)"
)
RUN_COVER: Final = (
    "(net operating income of all seasons before interest, tax and depreciation + crop money still "
    "due at the end − crop money due at the start) ÷ (interest + principal due in all seasons)"
)
DEBT_COVER_AFTER_DRAWINGS: Final = (
    "(net farm income + off-farm income + depreciation + term interest − family living − tax)"
    " ÷ (term principal + term interest due)"
)
INTEREST_COVER: Final = "earnings before interest and tax ÷ interest (higher is safer)"
BEYOND_TERMS: Final = "arrears + what of the overdraft stands past its limit"
EQUITY: Final = "(assets − liabilities) ÷ assets"
LOAN_TO_VALUE: Final = "debt ÷ value of the land, water and machinery that secure it"


def _table(measures: Iterable[Measure]) -> dict[str, Measure]:
    return {measure.name: measure for measure in measures}


MEASURES: Final[Mapping[str, Measure]] = _table(
    [
        # water of the valley
        Measure("announced_to_date_ml_per_share", "Announced to date"),
        Measure("announced_ml_per_share", "Announced in the season"),
        Measure("credited_ml_per_share", "Credited to the account"),
        Measure("account_ml_per_share", "Water in the account"),
        Measure("usable_ml_per_share", "Usable water"),
        Measure("planting_announced_to_date_ml_per_share", "Announced by planting"),
        Measure("planting_account_ml_per_share", "In the account at planting"),
        Measure("planting_usable_ml_per_share", "Usable at planting"),
        Measure("finish_announced_to_date_ml_per_share", "Announced by the finish month"),
        Measure("finish_account_ml_per_share", "In the account at the finish month"),
        Measure("finish_usable_ml_per_share", "Usable at the finish month"),
        Measure("high_security_allocation_frac", "High-security allocation"),
        Measure("storage_end_ml", "Water in the dam"),
        Measure("inflow_ml", "Inflow"),
        # water of the farm
        Measure("water_credited_ml", "Water credited"),
        Measure("water_used_ml", "Water used"),
        Measure("water_carried_ml", "Water carried on"),
        Measure("water_lost_ml", "Water lost"),
        Measure("water_spilled_ml", "Water spilled"),
        Measure("water_bought_ml", "Water bought"),
        Measure("water_sold_ml", "Water sold"),
        Measure("supplementary_taken_ml", "Supplementary water taken"),
        Measure("bore_used_ml", "Bore water used"),
        # land and crop
        Measure("area_prepared_ha", "Prepared"),
        Measure("area_planted_ha", "Planted"),
        Measure("area_finished_ha", "Finished"),
        Measure("yield_bales_per_ha", "Yield"),
        # money
        Measure("income_aud", "Income received"),
        Measure("costs_aud", "Costs"),
        Measure("margin_aud", "Margin"),
        Measure("margin_aud_per_ml", "Margin a megalitre used"),
        Measure("district_aud", "Spent in the district"),
        Measure("district_aud_per_ml", "Spent in the district, a megalitre used"),
        Measure("margin_aud_per_ha", "Margin a hectare planted"),
        Measure("closing_cash_aud", "Bank at the end of June"),
        Measure("lowest_cash_aud", "Lowest bank"),
        Measure("peak_overdraft_aud", "Deepest overdraft"),
        Measure("past_limit_aud", "Deepest past the overdraft limit"),
        Measure("receivable_aud", "Crop money still to come"),
        Measure("water_left_aud", "Water left"),
        Measure("land_ready_aud", "Prepared land"),
        Measure("tax_owing_aud", "Tax still to pay"),
        Measure("crops_in_ground_aud", "Crops in the ground"),
        Measure("crop_unpaid_aud", "Crop unpaid"),
        Measure("worth_left_aud", "Worth of what is left"),
        Measure("standing_aud", "Bank less arrears, with water, prepared land and crop unpaid"),
        # what a lender asks
        Measure("cover", "Debt cover", DEBT_COVER, "payments due"),
        Measure("run_cover", "Debt cover over the run", RUN_COVER, "payments due"),
        Measure(
            "term_debt_cover",
            "Debt cover after drawings and tax",
            DEBT_COVER_AFTER_DRAWINGS,
            "payments due",
        ),
        Measure("interest_cover", "Interest cover", INTEREST_COVER, "payments due"),
        Measure("debt_service_aud", "Interest and principal due", needs="payments due"),
        Measure("debt_aud", "Debt", needs="debt"),
        Measure("principal_put_off_aud", "Principal put off, still owed"),
        Measure("steps_aud", "Debt repaid early less principal put off and what was sold"),
        Measure("arrears_aud", "Arrears", needs="debt", rare=True),
        Measure(
            "owed_beyond_terms_aud", "Owed beyond the terms", BEYOND_TERMS, needs="debt", rare=True
        ),
        Measure("equity_frac", "Equity", EQUITY),
        Measure("loan_to_value_frac", "Loan to value", LOAN_TO_VALUE, "debt"),
        Measure("payments_missed", "Payments missed", needs="payments due"),
        # many farms
        Measure("farms_missing", "Farms that miss a payment in the same season", rare=True),
        Measure("farms_past_limit", "Farms past their overdraft limit in the same season"),
    ]
)
"""Every measure that a person is shown, by its name in files."""

EVENTS: Final[Mapping[str, Measure]] = _table(
    [
        Measure("no_planting", "Nothing planted"),
        Measure("ran_short", "Crop cut back or short of water"),
        Measure("payment_missed", "A loan payment missed"),
        Measure("cover_below_1", "Debt cover below 1.00", needs="payments due"),
        Measure("cover_below_1_25", "Debt cover below 1.25", needs="payments due"),
        Measure("past_overdraft_limit", "Overdraft past its limit"),
        Measure("set_by_land", "Area set by land"),
        Measure("set_by_water", "Area set by water"),
        Measure("set_by_money", "Area set by the bank's limit"),
    ]
)
"""What may happen in a season or in a run, with a chance; all but what set the area is bad."""

COMMITMENTS: Final[Mapping[str, Measure]] = _table(
    [
        Measure("essential_reserve_ml", "Essential supplies"),
        Measure("losses_reserve_ml", "River and lake losses"),
        Measure("base_flow_reserve_ml", "Base flow"),
        Measure("environment_reserve_ml", "Environmental allowance"),
        Measure("fixed_loss_reserve_ml", "Fixed delivery loss"),
        Measure("high_security_reserve_ml", "High security"),
        Measure("account_reserve_ml", "Water already in accounts"),
    ]
)
"""What the assessment sets aside before anything is announced, where the valley's rules have it."""


def title_of(name: str) -> str:
    """Return the title of a measure or an event.

    Examples
    --------
    >>> title_of("area_planted_ha"), title_of("payment_missed")
    ('Planted', 'A loan payment missed')
    """
    return (MEASURES[name] if name in MEASURES else EVENTS[name]).title


def formulas(names: Iterable[str]) -> dict[str, str]:
    """Return the formulas of those measures that have one, by name.

    Examples
    --------
    >>> formulas(["equity_frac", "debt_aud"])
    {'equity_frac': '(assets − liabilities) ÷ assets'}
    """
    return {name: MEASURES[name].formula for name in names if MEASURES[name].formula}


def shown(names: Iterable[str], *, due: bool, owed: bool) -> list[Measure]:
    """Return those measures that say something.

    Parameters
    ----------
    names
        Of measures or events.
    due, owed
        Whether anything is due to a lender, and whether anything is owed.

    Examples
    --------
    >>> [one.name for one in shown(["cover", "debt_aud", "equity_frac"], due=False, owed=True)]
    ['debt_aud', 'equity_frac']
    """
    there: dict[Needs, bool] = {"nothing": True, "payments due": due, "debt": owed or due}
    found = (MEASURES[name] if name in MEASURES else EVENTS[name] for name in names)
    return [one for one in found if there[one.needs]]
