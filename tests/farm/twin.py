"""The farm's month in plain Python: one strategy, one sequence, one number at a time.

Slow and obvious on purpose, written from the rules and not from the code: the fast farm must agree
with it. It takes the river's month and the farm's rules as plain numbers; what is sown, used, lost,
earned and owed it works out on its own, the root zone by its own closed form (see `soil_twin`).
"""

from __future__ import annotations

import math
from copy import deepcopy
from dataclasses import dataclass, field, fields, is_dataclass
from typing import Any

import numpy as np

from model.farm.drought import Drought
from model.farm.growing import Growing
from model.farm.rules import FarmRules
from model.farm.state import FarmState, Field, Settings
from model.farm.step_rules import StepRules
from tests.farm.soil_twin import Zone, walk

MM_HA = 0.01
ACCOUNTS = (
    "account_ml_per_share",
    "carried_ml_per_share",
    "used_this_year_ml_per_share",
    "used_last_year_ml_per_share",
    "used_year_before_ml_per_share",
    "frozen_ml_per_share",
    "high_security_used_ml",
    "high_security_carried_ml",
    "storage_ml",
    "bore_used_ml",
    "supplementary_used_ml",
    "bought_ml",
    "sold_ml",
    "prepared_ha",
    "bank_aud",
    "arrears_aud",
    "profit_aud",
    "losses_aud",
    "tax_due_aud",
    "spent_on_land_aud",
)
"""What of the farm's state is one number."""


@dataclass
class TwinField:
    """A crop in the ground, in numbers."""

    sown: float
    watered: float
    dry: float
    wet_zone: Zone
    dry_zone: Zone
    spent: float

    @property
    def to_harvest(self) -> float:
        """Hectares still to be harvested."""
        return self.watered + self.dry


@dataclass
class TwinLoan:
    """A loan on its way."""

    owed: float
    payments: int
    interest_only: int


@dataclass
class TwinDrought:
    """What drought steps have changed, by the step's name or the loan's place."""

    shares: float
    deposit: float
    loans: list[TwinLoan]
    machinery: float = 0.0
    dry_seasons: int = 0
    taken: set[str] = field(default_factory=set)
    hired: dict[str, float] = field(default_factory=dict)


@dataclass
class Twin:
    """One farm, in numbers."""

    account: float
    carried: float
    used: float
    used_last: float
    used_before: float
    frozen: float
    high_used: float
    high_carried: float
    stored: float
    bored: float
    pumped: float
    bought: float
    sold: float
    prepared: float
    bank: float
    arrears: float
    profit: float
    losses: float
    tax_due: float
    spent_land: float
    fields: list[TwinField | None] = field(default_factory=list)
    money: list[float] = field(default_factory=list)
    locked: bool = False  # this month: carried water may not be used
    keeps_frozen: bool = False  # this month: what is frozen is carried water
    drought: TwinDrought | None = None

    @property
    def barred(self) -> float:
        """What of the account may not be ordered."""
        return max(self.frozen, self.carried) if self.locked else self.frozen

    def numbers(self) -> list[float]:
        """Return what is one number, in the order of `ACCOUNTS`."""
        return [getattr(self, f.name) for f in fields(self)[: len(ACCOUNTS)]]


def at(values: np.ndarray, strategy: int, sequence: int) -> float:
    """Read one number; an array may be the same for all strategies."""
    return float(values[strategy % values.shape[0], sequence % values.shape[1]])


def zone_of(soil: Any, growing: Growing, strategy: int, sequence: int) -> Zone:
    """Read one root zone."""
    zone = growing.root_zone
    stress = at(soil.stress, strategy, sequence)
    return Zone(
        at(soil.water_mm, strategy, sequence),
        zone.capacity_mm,
        zone.stress_below_mm,
        zone.full_stress_frac,
        stress=0.0 if math.isinf(stress) else stress,
        low_days=at(soil.low_days, strategy, sequence),
        lost=math.isinf(stress),
    )


def twin_of(state: FarmState, rules: FarmRules, strategy: int, sequence: int) -> Twin:
    """Read one farm out of the arrays."""
    found = Twin(*(at(getattr(state, name), strategy, sequence) for name in ACCOUNTS))
    found.money = [at(money, strategy, sequence) for money in state.crop_money_aud]
    for place, each in enumerate(state.fields):
        if each is None:
            found.fields.append(None)
            continue
        growing = rules.growings[place]
        found.fields.append(
            TwinField(
                at(each.sown_ha, strategy, sequence),
                at(each.watered_ha, strategy, sequence),
                at(each.dry_ha, strategy, sequence),
                zone_of(each.watered, growing, strategy, sequence),
                zone_of(each.dry, growing, strategy, sequence),
                at(each.spent_aud, strategy, sequence),
            )
        )
    return found


def numbers_of(month: Any, at_sequence: int) -> dict[str, Any]:
    """Read one sequence's month, or a part of it, as plain numbers."""

    def one(value: Any) -> Any:
        if isinstance(value, tuple):
            return [one(each) for each in value]
        if is_dataclass(value):
            return numbers_of(value, at_sequence)
        if hasattr(value, "shape"):
            return value[at_sequence % value.shape[0]].item()
        return value

    return {f.name: one(getattr(month, f.name)) for f in fields(month)}


@dataclass
class Step:
    """One step of a strategy's list of what it grows."""

    at: int
    planned: float
    least: float
    most: float


def settings_of(settings: Settings, strategy: int) -> dict[str, Any]:
    """Read one strategy's settings as plain numbers, with its own list of what it grows."""
    found = {
        f.name: of[strategy, 0].item()
        if (of := getattr(settings, f.name)).shape[1] == 1
        else of[strategy].tolist()
        for f in fields(settings)
        if f.name not in ("grown", "steps")
    }
    found["grown"] = [
        Step(
            step.at,
            float(step.planned_water_ml_per_ha[strategy, 0]),
            float(step.least_water_ml_per_ha[strategy, 0]),
            float(step.most_ha[strategy, 0]),
        )
        for step in settings.grown
        if step.chosen[strategy, 0]
    ]
    found["steps"] = [step for step in settings.steps if step.chosen[strategy, 0]]
    return found


class TwinFarm:
    """Takes one farm through months."""

    def __init__(self, rules: FarmRules, settings: dict[str, Any]) -> None:
        self.water, self.crop, self.cash = rules.water, rules.crop, rules.cash
        self.market: Any = rules.market
        self.growings, self.layouts = rules.growings, rules.layouts
        self.ahead: Any = rules.ahead
        self.own = settings
        self.steps: list[StepRules] = settings["steps"]

    @property
    def first_shares(self) -> float:
        """General-security shares as the run opens."""
        return self.cash.shares_ml

    def shares(self, f: Twin) -> float:
        """General-security shares owned now."""
        return self.first_shares if f.drought is None else f.drought.shares

    def month(self, f: Twin, river: dict[str, Any], expected: float) -> None:
        """Change the farm as one month does.

        Parameters
        ----------
        f
            The farm; it is changed.
        river
            The month, in numbers.
        expected
            Further allocation expected on this date, ML per share.
        """
        k = river["k"]
        if river["turns_year"]:
            self.turn_year(f, river)
        self.credit_and_freeze(f, river)
        bought, sold = self.take_steps(f, river)
        if k == self.own["prepare_k"]:
            self.prepare(f)
        if river["t"] == 0:
            now = self.trade_now(f)
            bought, sold = bought + now[0], sold + now[1]
        bought += self.sow(f, river, expected)
        if k == self.crop.finish_k:
            self.finish(f, river, expected)
        if self.own["buy_in"][k] and k != self.crop.planting_k:
            bought += self.buy(f, river)
        if self.own["sell_in"][k]:
            sold += self.sell(f, river)
        taken, used = self.irrigate(f, river)
        self.fill_storage(f, river, taken["supplementary"])
        self.bear(f, river)
        self.money_moves(f, river, taken, used, bought, sold)
        if f.drought is not None and k == 11:
            nothing = river["announced_to_date_ml_per_share"] <= 1e-9
            f.drought.dry_seasons = f.drought.dry_seasons + 1 if nothing else 0
            f.drought.hired.clear()

    # -- drought steps -----------------------------------------------------------------------------

    def take_steps(self, f: Twin, river: dict[str, Any]) -> tuple[float, float]:
        """Take the steps of the month; return the water they bought and sold, ML."""
        if not self.steps:
            return 0.0, 0.0
        if f.drought is None:
            loans = [
                TwinLoan(loan.balance_aud, loan.payments_left, loan.interest_only_left)
                for loan in self.cash.loans
            ]
            f.drought = TwinDrought(self.cash.shares_ml, self.cash.deposit_aud, loans)
        bought = sold = 0.0
        for step in self.steps:
            if step.k != river["k"]:
                continue
            did, ml = False, 0.0
            if self.asks(step, f, river):
                did, ml = self.do(step, f, river)
            if not step.is_yearly and did:
                f.drought.taken.add(step.name)
            if step.is_yearly:
                (f.drought.taken.add if did else f.drought.taken.discard)(step.name)
            if did:
                f.bank -= step.cost_aud
                f.profit -= step.cost_aud
            bought += ml if step.kind == "buy_water_ml" else 0.0
            sold += ml if step.kind == "sell_water_ml" else 0.0
        return bought, sold

    def asks(self, step: StepRules, f: Twin, river: dict[str, Any]) -> bool:
        """Whether all that a step asks for holds."""
        assert f.drought is not None
        known = river["announced_to_date_ml_per_share"]
        if river["shared"] is not None:  # credited at the month's end
            known -= river["announced_ml_per_share"]
        nothing = known <= 1e-9
        in_a_row = f.drought.dry_seasons + 1 if nothing else 0
        return (
            (step.is_yearly or step.name not in f.drought.taken)
            and (nothing or not step.nothing_announced)
            and in_a_row >= step.seasons_of_nothing
            and f.account < step.account_below_ml_per_share
            and river["storage_frac"] < step.dam_below_frac
            and f.bank < step.bank_below_aud
            and (f.arrears > 0.0 or not step.arrears)
        )

    def do(self, step: StepRules, f: Twin, river: dict[str, Any]) -> tuple[bool, float]:
        """Do what a step does; return whether it was taken, and the water traded, ML."""
        assert f.drought is not None
        d, kind = f.drought, step.kind
        if kind == "interest_only_years":
            loan, rules = d.loans[step.loan_at], self.cash.loans[step.loan_at]
            asked = min(int(step.amount) * rules.payments_a_year, loan.payments - 1)
            if loan.owed == 0.0 or asked <= loan.interest_only:
                return False, 0.0
            loan.interest_only = asked
        if kind == "sell_shares_ml":
            return self.sell_shares(step, f, river), 0.0
        if kind == "sell_machinery_aud":
            if d.machinery + step.amount > self.cash.machinery_worth_aud:
                return False, 0.0
            d.machinery += step.amount
            f.bank += step.amount * step.price
        if kind == "draw_deposit_aud":
            drawn = min(step.amount, d.deposit)
            d.deposit, f.bank, f.profit = d.deposit - drawn, f.bank + drawn, f.profit + drawn
            return drawn > 0.0, 0.0
        if kind == "hire_bore_ml":
            d.hired[step.name] = step.amount
        if kind == "sell_water_ml":
            ml = 0.0
            if self.market is not None and river["price_aud_per_ml"] >= step.price:
                most = max(0.0, self.market.most_ml_per_season - f.sold)
                ml = min(step.amount, most, self.usable(f) * self.shares(f))
                self.give_out(f, ml)
            return ml > 0.0, ml
        if kind == "buy_water_ml":
            ml = 0.0
            if self.market is not None and river["price_aud_per_ml"] <= step.price:
                most = max(0.0, self.market.most_ml_per_season - f.bought)
                ml = max(0.0, min(step.amount, most, self.room(f)))
                self.take_in(f, ml)
            return ml > 0.0, ml
        return True, 0.0

    def sell_shares(self, step: StepRules, f: Twin, river: dict[str, Any]) -> bool:
        """Sell shares for good; their water stays as far as the account holds it."""
        d = f.drought
        assert d is not None
        if d.shares <= step.amount:
            return False
        left = d.shares - step.amount
        limit = self.water.account_limit_ml_per_share
        if river["shared"] is not None:
            limit = river["shared"]["most_ml_per_share"]
        holds_ml = max(limit, f.account) * left
        whole_ml = f.account * d.shares
        f.account = min(whole_ml, holds_ml) / left
        f.carried = min(f.carried * d.shares / left, f.account)
        f.frozen = min(f.frozen * d.shares / left, f.account)
        d.shares = left
        got = step.amount * step.price
        if step.loan_at >= 0:
            loan = d.loans[step.loan_at]
            paid_back = min(got, loan.owed)
            loan.owed, got = loan.owed - paid_back, got - paid_back
        f.bank += got
        return True

    def due(self, f: Twin, t: int) -> dict[str, float]:
        """What falls due in a month whatever comes; loans go on to their next payment."""
        cash, d = self.cash, f.drought
        found = {
            "overheads": float(cash.overheads_aud[t]),
            "drawings": float(cash.drawings_aud[t]),
            "off_farm": float(cash.off_farm_aud[t]),
            "interest": float(cash.loan_interest_aud[t]),
            "principal": float(cash.loan_principal_aud[t]),
        }
        if d is None:
            return found
        found["overheads"] -= (self.first_shares - d.shares) * float(cash.fixed_aud_per_share[t])
        own = factor = cash.own_overheads_aud_per_month
        for step in self.steps:
            if step.name not in d.taken:
                continue
            factor *= step.amount if step.kind == "overheads_factor" else 1.0
            found["drawings"] *= step.amount if step.kind == "drawings_factor" else 1.0
            if step.kind == "off_farm_income_aud_per_year":
                found["off_farm"] += step.amount / 12.0
        found["overheads"] -= own - factor
        found["interest"] = found["principal"] = 0.0
        for loan, rules in zip(d.loans, cash.loans, strict=True):
            if not rules.due[t] or loan.payments == 0:
                continue
            interest, rate = loan.owed * rules.rate_frac, rules.rate_frac
            parts = loan.payments - loan.interest_only
            principal = 0.0
            if loan.interest_only == 0:
                principal = loan.owed / parts
                if rules.is_level and rate > 0.0:
                    principal = loan.owed * rate / (1.0 - (1.0 + rate) ** -parts) - interest
            loan.owed -= principal
            loan.payments -= 1
            loan.interest_only = max(0, loan.interest_only - 1)
            found["interest"] += interest
            found["principal"] += principal
        return found

    # -- the account -------------------------------------------------------------------------------

    def turn_year(self, f: Twin, river: dict[str, Any]) -> None:
        """1 July."""
        if (carryover_frac := self.water.high_security_carryover_frac) is not None:
            shares = self.water.high_security_shares_ml
            left = f.high_carried + river["high_security_ended_frac"] * shares - f.high_used
            f.high_carried = min(shares, carryover_frac * max(0.0, left))
        kept = min(f.account, self.water.carryover_limit_ml_per_share)
        f.account = f.carried = kept - kept * self.water.carryover_loss_frac
        f.used_before, f.used_last, f.used = f.used_last, f.used, 0.0
        f.high_used = f.bored = f.pumped = 0.0
        f.bought = f.sold = 0.0

    def credit_and_freeze(self, f: Twin, river: dict[str, Any]) -> None:
        """What is announced is credited as far as it fits; a low dam freezes."""
        room = max(0.0, self.water.account_limit_ml_per_share - f.account)
        if river["shared"] is None:
            f.account += min(river["announced_ml_per_share"], room)
        f.locked = bool(river["access"]["carried_locked"])
        f.keeps_frozen = False
        if (staged := river["access"]["staged"]) is not None:
            f.keeps_frozen = staged["freezes_carried"]
            f.frozen = staged["frozen_frac"] * (f.carried if f.keeps_frozen else f.account)
        elif not river["access"]["restricted"]:
            f.frozen = 0.0
        elif not river["access"]["was_restricted"]:
            f.frozen = (1.0 - self.water.restriction_access_frac) * f.account
        f.frozen = min(f.frozen, f.account)

    def use_left(self, f: Twin) -> float:
        """What the limits of one and three years leave."""
        one = self.water.use_limit_1yr_ml_per_share - f.used
        three = self.water.use_limit_3yr_ml_per_share - f.used - f.used_last - f.used_before
        return max(0.0, min(one, three))

    def usable(self, f: Twin) -> float:
        """What may be ordered, ML per share."""
        return min(max(0.0, f.account - f.barred), self.use_left(f))

    def bore_left(self, f: Twin, months: float) -> float:
        """What the bore brings."""
        left = max(0.0, self.water.bore_ml_per_year - f.bored)
        return min(left, self.water.bore_ml_per_month * months)

    def high_left(self, f: Twin, river: dict[str, Any]) -> float:
        """High security not yet used."""
        whole = self.water.high_security_shares_ml * river["high_security_allocation_frac"]
        return max(0.0, whole - f.high_used + f.high_carried)

    def draw(self, f: Twin, used: float) -> None:
        """Use the account, carried water first."""
        f.account = max(0.0, f.account - used)
        stays = min(f.carried, f.frozen) if f.keeps_frozen else 0.0
        if not f.locked:
            f.carried = max(stays, f.carried - used)
        f.used += used

    def flow_left(self, f: Twin, river: dict[str, Any], already: float) -> float:
        """Uncontrolled flow that may still be pumped this month, ML."""
        month = min(
            river["uncontrolled_ml"] * self.water.flow_share_frac,
            self.water.supplementary_ml_per_month,
        )
        year = max(0.0, self.water.supplementary_ml_per_year - f.pumped)
        return min(max(0.0, month - already), year)

    # -- land and crops ----------------------------------------------------------------------------

    def prepare(self, f: Twin) -> None:
        """Land for the next main crop."""
        least, full_at = self.own["prepare_least_frac"], self.own["prepare_all_at_ml_per_share"]
        full = 1.0 if full_at == 0.0 else min(1.0, f.account / full_at)
        f.prepared = (least + (1.0 - least) * full) * self.crop.land_limit_ha

    def in_sight(
        self, f: Twin, place: int, river: dict[str, Any], expected: float, *, holding: bool
    ) -> float:
        """Water a crop may count on, ML: by its own months of watering."""
        k, calendar = river["k"], self.growings[place].calendar
        months: list[int] = []
        while calendar.last_watering_k is not None:
            months.append((k + len(months)) % 12)
            if months[-1] == calendar.last_watering_k:
                break
        until_june = len(months) if 11 not in months[:-1] else months.index(11) + 1
        crosses = until_june < len(months)
        own = max(0.0, f.account - f.barred) * (1.0 - river["account_loss_ahead_frac"])
        left = self.use_left(f)
        if crosses:
            kept = min(own, self.water.carryover_limit_ml_per_share)
            own = kept - kept * self.water.carryover_loss_frac
            three = self.water.use_limit_3yr_ml_per_share - f.used - f.used_last
            left = max(0.0, min(self.water.use_limit_1yr_ml_per_share, three))
        own = min(own + self.own["count_on_frac"] * expected, left)
        if holding:
            above = max(0.0, own - self.own["hold_above_ml_per_share"])
            own -= min(self.own["hold_back_ml_per_share"], above)
        hired = 0.0 if f.drought is None else sum(f.drought.hired.values())
        next_year = self.water.bore_ml_per_month * (len(months) - until_june)
        return hired + (
            own * self.shares(f)
            + (0.0 if crosses else self.high_left(f, river))
            + max(0.0, f.stored - float(self.ahead[place].storage_loss_ml[k]))
            + self.bore_left(f, float(until_june))
            + min(self.water.bore_ml_per_year, next_year)
        )

    def sow(self, f: Twin, river: dict[str, Any], expected: float) -> float:
        """Sow what the month is for; return what was bought, ML."""
        k = river["k"]
        steps = [step for step in self.own["grown"] if self.layouts[step.at].sow_k == k]
        plants_main = k == self.crop.planting_k
        standing = sum(each.sown for each in f.fields if each is not None)
        developed = self.crop.developed_ha
        ready = max(0.0, min(f.prepared, developed - standing))
        free = max(0.0, developed - standing - f.prepared)
        begun = {step.at for step in steps} | ({self.crop.places[0]} if plants_main else set())
        for place in begun:
            f.fields[place] = self.new_field(place, river)
        main = [step for step in steps if step.at in self.crop.places]
        watered, bought = False, 0.0
        for number, step in enumerate(main):
            last = not any(self.layouts[s.at].irrigated for s in main[number + 1 :])
            land = ready if self.own["prepare_k"] >= 0 else ready + free
            offer = min(land, self.most_left(f, step), self.own["most_area_ha"])
            area, buys = self.area_of(f, step, offer, ready, river, expected, watered, last)
            watered = watered or (area > 0.0 and self.layouts[step.at].irrigated)
            bought += buys
            free -= area - min(ready, area)
            ready -= min(ready, area)
        if plants_main:
            ready, free = 0.0, free + ready
        for step in [s for s in steps if s not in main]:
            offer = min(free, self.most_left(f, step))
            area, _ = self.area_of(f, step, offer, ready, river, 0.0, watered, False)
            watered = watered or (area > 0.0 and self.layouts[step.at].irrigated)
            free -= area
        self.take_in(f, bought)
        if plants_main:
            self.charge_land(f)
        return bought

    def new_field(self, place: int, river: dict[str, Any]) -> TwinField:
        """A field of no hectares, on what the fallow stored."""
        zone, soil = self.growings[place].root_zone, river["soil_at_sowing_mm"][place]
        numbers = (soil, zone.capacity_mm, zone.stress_below_mm, zone.full_stress_frac)
        return TwinField(0.0, 0.0, 0.0, Zone(*numbers), Zone(*numbers), 0.0)

    def most_left(self, f: Twin, step: Step) -> float:
        """What a step may still take of its most land, with the crop in any layout counted."""
        crop = self.layouts[step.at].crop_at
        stands = sum(
            each.sown
            for each, layout in zip(f.fields, self.layouts, strict=True)
            if each is not None and layout.crop_at == crop
        )
        return max(0.0, step.most - stands)

    def area_of(
        self,
        f: Twin,
        step: Step,
        offer: float,
        ready: float,
        river: dict[str, Any],
        expected: float,
        watered: bool,
        last: bool,
    ) -> tuple[float, float]:
        """Sow a step; return its area, and what was bought for it, ML."""
        layout, sown = self.layouts[step.at], f.fields[step.at]
        assert sown is not None
        bought = 0.0
        if not layout.irrigated:
            area = offer if river["soil_at_sowing_mm"][step.at] >= layout.least_soil_mm else 0.0
            sown.sown, sown.dry = sown.sown + area, sown.dry + area
            return area, bought
        is_main = step.at in self.crop.places
        forced = is_main and river["first_planting"] and not math.isnan(self.own["first_area_ha"])
        if forced:
            offer = min(self.own["first_area_ha"], ready)
        counted = self.in_sight(f, step.at, river, expected, holding=True)
        if watered or not (counted >= step.least * offer or (forced and last)):
            return 0.0, bought
        area = offer
        if not forced:
            if is_main and self.cash.bank_limits_planting:
                offer = min(offer, self.bank_ha(f, step, river))
            if is_main and (self.own["buys_to_plant"] or self.own["buy_in"][river["k"]]):
                bought = self.buyable(f, river, max(0.0, offer * step.planned - counted))
            area = min(offer, (counted + bought) / step.planned)
            if area < self.own["smallest_area_ha"]:
                area = 0.0
        sown.sown, sown.watered = sown.sown + area, sown.watered + area
        return area, bought if area > 0.0 else 0.0

    def bank_ha(self, f: Twin, step: Step, river: dict[str, Any]) -> float:
        """The land that the bank lets the farm plant until the crop's first money."""
        cash, layout, k = self.cash, self.layouts[step.at], river["k"]
        last = k
        while last % 12 != layout.harvest_k or last == k:
            last += 1
        while layout.income_pattern[last % 12] == 0.0:
            last += 1
        months = range(k, last)
        room = f.bank + cash.overdraft_limit_aud - cash.bank_margin_kept_aud - f.arrears
        per_ha = step.planned * cash.usage_aud_per_ml
        standing = sum(each.sown for each in f.fields if each is not None)
        ahead = deepcopy(f)
        for month in months:
            t = river["t"] + month - k
            t = t if t < len(cash.overheads_aud) else t - 12
            due = self.due(ahead, t)
            room -= due["overheads"] + due["drawings"] + due["interest"] + due["principal"]
            room += due["off_farm"] - float(cash.machinery_aud[t] + cash.tax_aud[t])
            room += float(cash.money_to_come_aud[t])
            room -= f.tax_due if month % 12 == cash.tax_k else 0.0
            room -= (self.crop.developed_ha - standing) * float(
                cash.fallow_cost_aud_per_ha[month % 12]
            )
            per_ha += float(layout.growing_cost_aud_per_ha[month % 12])
        harvests = {each.crop_at: each.harvest_k for each in self.layouts}
        patterns = {each.crop_at: each.income_pattern for each in self.layouts}
        for crop, money in enumerate(f.money):
            for month in months:
                if month % 12 == harvests[crop]:
                    break
                room += money * float(patterns[crop][month % 12])
        for place, each in enumerate(f.fields):
            if each is not None:
                room += self.brings(each, place, months)
        return max(0.0, room) / per_ha

    def brings(self, each: TwinField, place: int, months: range) -> float:
        """What a crop in the ground brings in these months less its cost, in average weather."""
        layout, growing = self.layouts[place], self.growings[place]
        aud = 0.0
        for month in months:
            if month % 12 == layout.harvest_k:
                break
            aud -= each.to_harvest * float(layout.growing_cost_aud_per_ha[month % 12])
        else:
            return aud
        likely = Zone(**vars(each.dry_zone))
        for later, _ in growing.ground_months(months[0] % 12):
            rain, eto = growing.average.rain_mm[later], growing.average.eto_mm[later]
            self.live(growing, later, likely, float(rain), float(eto))
        units = layout.full_yield_units_per_ha * (
            each.watered * each.wet_zone.kept + each.dry * likely.kept
        )
        paid = sum(float(layout.income_pattern[m % 12]) for m in range(month, months[-1] + 1))
        aud += units * (layout.price_aud_per_unit * paid - layout.harvest_cost_aud_per_unit)
        return aud - each.to_harvest * layout.harvest_cost_aud_per_ha

    def paid(self, river: dict[str, Any]) -> float:
        """What a buyer pays for a megalitre."""
        spread = 1.0 + self.market.spread_frac / 2.0
        return river["price_aud_per_ml"] * spread + self.market.fee_aud_per_ml

    def got(self, river: dict[str, Any]) -> float:
        """What a seller gets for a megalitre."""
        spread = 1.0 - self.market.spread_frac / 2.0
        return max(0.0, river["price_aud_per_ml"] * spread - self.market.fee_aud_per_ml)

    def room(self, f: Twin) -> float:
        """What may be bought, ML: it must fit, and be of use."""
        fits = max(0.0, self.water.account_limit_ml_per_share - f.account)
        return min(fits, self.use_left(f) - self.usable(f)) * self.shares(f)

    def buyable(self, f: Twin, river: dict[str, Any], wanted: float) -> float:
        """What is bought of what is wanted, ML."""
        if self.market is None or river["price_aud_per_ml"] > self.own["buy_below_aud_per_ml"]:
            return 0.0
        most = min(self.own["buy_up_to_ml"], self.market.most_ml_per_season) - f.bought
        return max(0.0, min(wanted, most, self.room(f)))

    def take_in(self, f: Twin, bought: float) -> None:
        """Water bought joins the account."""
        f.account += bought / self.shares(f)
        f.bought += bought

    def give_out(self, f: Twin, sold: float) -> None:
        """Water sold leaves the account."""
        self.draw(f, sold / self.shares(f))
        f.sold += sold

    def trade_now(self, f: Twin) -> tuple[float, float]:
        """Buy and sell at once."""
        if self.market is None:
            return 0.0, 0.0
        most = self.market.most_ml_per_season
        bought = min(self.own["buy_now_ml"], max(0.0, most - f.bought), self.room(f))
        self.take_in(f, bought)
        left = self.usable(f) * self.shares(f)
        sold = min(self.own["sell_now_ml"], max(0.0, most - f.sold), left)
        self.give_out(f, sold)
        return bought, sold

    def buy(self, f: Twin, river: dict[str, Any]) -> float:
        """Buy for a crop in the ground, or for a season to come; return how much, ML."""
        k = river["k"]
        wanted = math.inf
        if self.crop.planting_k <= k <= self.crop.last_watering_k:
            there = self.usable(f) * self.shares(f) + f.stored
            wanted = max(0.0, self.to_finish(f, k) - there)
        bought = self.buyable(f, river, wanted)
        self.take_in(f, bought)
        return bought

    def charge_land(self, f: Twin) -> None:
        """What was spent on prepared land goes to the main crop by hectare; unsown it is lost."""
        main = [place for place in self.crop.places if f.fields[place] is not None]
        total = sum(f.fields[place].sown for place in main)
        for place in main:
            part = float(place == main[0]) if total == 0.0 else f.fields[place].sown / total
            f.fields[place].spent = f.spent_land * part
        f.prepared = f.spent_land = 0.0

    def rain(self, growing: Growing, river: dict[str, Any]) -> tuple[float, float]:
        """Helpful rain and ETo of the month, as a growing meets them."""
        met = growing.weather(river["k"], np.array([river["rain_mm"]]), np.array([river["eto_mm"]]))
        return float(met.rain_mm[0]), float(met.eto_mm[0])

    def daily(self, month: Any, kc: float, rain: float, eto: float) -> tuple[float, float]:
        """Helpful rain and use of a day."""
        if month.table_use_mm is not None:
            return 0.0, month.table_use_mm
        return rain / month.month_days, eto * kc / month.month_days

    def live(
        self, growing: Growing, k: int, z: Zone, rain: float, eto: float, water: float = 0.0
    ) -> None:
        """Take a root zone through a month."""
        month = growing.months[k]
        if month is None:
            return
        at_once = min(water, max(0.0, z.level - z.water))
        z.water += at_once
        for over, kc in month.pieces:
            supply, use = self.daily(month, kc, rain, eto)
            supply += (water - at_once) / month.days
            walk(z, supply, use, over.days, over.loss_frac_per_day, young=over.young)

    def to_finish(self, f: Twin, k: int) -> float:
        """Water that finishes all that is watered, in average weather, ML."""
        total = 0.0
        for growing, each in zip(self.growings, f.fields, strict=True):
            month = growing.months[k]
            if each is None or each.watered == 0.0 or month is None or month.target_mm is None:
                continue
            ahead = 0.0
            for later, its in growing.ground_months(k):
                if its.target_mm is not None:
                    rain, eto = growing.average.rain_mm[later], growing.average.eto_mm[later]
                    supply, use = self.daily(its, its.kc, float(rain), float(eto))
                    ahead += (use - supply) * its.days
            need = max(0.0, each.wet_zone.level - each.wet_zone.water + ahead)
            total += each.watered * need * growing.gate_ml_per_ha_per_mm
        return total

    def finish(self, f: Twin, river: dict[str, Any], expected: float) -> None:
        """Cut the main crop back to what can be finished."""
        if self.own["spreads_shortage"]:
            return
        k, need = river["k"], self.to_finish(f, river["k"])
        part = 1.0
        if need > 0.0:
            first = next(at for at in self.crop.places if self.layouts[at].irrigated)
            part = min(1.0, self.in_sight(f, first, river, expected, holding=False) / need)
        for place in self.crop.places:
            each = f.fields[place]
            if each is None or each.watered == 0.0 or part == 1.0:
                continue
            growing, layout = self.growings[place], self.layouts[place]
            cut, each.watered = each.watered - each.watered * part, each.watered * part
            each.dry_zone = Zone(**vars(each.wet_zone))
            likely = Zone(**vars(each.wet_zone))
            for later, _ in growing.ground_months(k):
                rain, eto = growing.average.rain_mm[later], growing.average.eto_mm[later]
                self.live(growing, later, likely, float(rain), float(eto))
            yields = layout.full_yield_units_per_ha * likely.kept
            cost = float(layout.growing_cost_ahead_aud_per_ha[k])
            each.dry = cut if self.pays(yields, cost, place) else 0.0

    def pays(self, units: float, growing: float, place: int) -> bool:
        """Whether harvest pays what is still to be spent."""
        layout = self.layouts[place]
        leaves = layout.price_aud_per_unit - layout.harvest_cost_aud_per_unit
        return units * leaves > growing + layout.harvest_cost_aud_per_ha

    def sell(self, f: Twin, river: dict[str, Any]) -> float:
        """Sell what is left over; return how much, ML."""
        if self.market is None or river["price_aud_per_ml"] < self.own["sell_above_aud_per_ml"]:
            return 0.0
        kept = self.own["sell_keep_ml_per_share"] * self.shares(f)
        kept += self.to_finish(f, river["k"])
        left = max(0.0, self.usable(f) * self.shares(f) - kept)
        sold = min(left, max(0.0, self.market.most_ml_per_season - f.sold))
        self.give_out(f, sold)
        return sold

    # -- watering ----------------------------------------------------------------------------------

    def irrigate(self, f: Twin, river: dict[str, Any]) -> tuple[dict[str, float], list[float]]:
        """Water the crops; return what came from where and what each used, ML."""
        k = river["k"]
        asks: list[tuple[float, float]] = []  # pre-water and need in the root zone, mm
        asked = []  # ML
        for growing, each in zip(self.growings, f.fields, strict=True):
            pre, need = self.ask(growing, each, river)
            asks.append((pre, need))
            area = 0.0 if each is None else each.watered
            asked.append((pre + need) * area * growing.gate_ml_per_ha_per_mm)
        taken = self.take(f, sum(asked), river)
        got = sum(ml for source, ml in taken.items() if source != "hired cost")
        part = 1.0 if sum(asked) == 0.0 else got / sum(asked)
        for growing, each, (pre, need) in zip(self.growings, f.fields, asks, strict=True):
            if each is None:
                continue
            rain, eto = self.rain(growing, river)
            mm = (pre + need) * part
            pre = min(pre, mm)
            each.wet_zone.water += pre
            self.live(growing, k, each.wet_zone, rain, eto, mm - pre)
            self.live(growing, k, each.dry_zone, rain, eto)
        return taken, [ml * part for ml in asked]

    def ask(
        self, growing: Growing, each: TwinField | None, river: dict[str, Any]
    ) -> tuple[float, float]:
        """Pre-water and need of a hectare, mm in the root zone."""
        k = river["k"]
        month = growing.months[k]
        if each is None or each.watered == 0.0 or month is None or month.target_mm is None:
            return 0.0, 0.0
        z, pre = each.wet_zone, 0.0
        if k == growing.calendar.sow_k:
            pre = min(growing.pre_water_mm, max(0.0, z.capacity - z.water))
        supply, use = self.daily(month, month.kc, *self.rain(growing, river))
        return pre, max(0.0, month.target_mm - (z.water + pre) - (supply - use) * month.days)

    def take(self, f: Twin, asked: float, river: dict[str, Any]) -> dict[str, float]:
        """Take water from the sources in order, ML."""
        taken = dict.fromkeys(
            ("supplementary", "high_security", "storage", "general_security", "bore"), 0.0
        )
        usable, left = self.usable(f), asked
        for source in self.water.source_order:
            if source == "general_security":
                got = min(left, usable * self.shares(f))
                got *= river["general_security_delivered_frac"]
            elif source == "high_security":
                got = min(left, self.high_left(f, river)) * river["high_security_delivered_frac"]
            elif source == "storage":
                got = min(left, f.stored) if self.water.storage_capacity_ml > 0.0 else 0.0
            elif source == "supplementary":
                got = min(left, self.flow_left(f, river, 0.0))
            else:
                got = min(left, self.bore_left(f, 1.0))
            taken[source] = got
            left -= got
            if source == "bore" and f.drought is not None:
                for step in self.steps:
                    got = min(left, f.drought.hired.get(step.name, 0.0))
                    if got > 0.0:
                        f.drought.hired[step.name] -= got
                        taken["hired"] = taken.get("hired", 0.0) + got
                        taken["hired cost"] = taken.get("hired cost", 0.0) + got * step.price
                        left -= got
        self.draw(f, taken["general_security"] / self.shares(f))
        from_carried = min(f.high_carried, taken["high_security"])
        f.high_carried -= from_carried
        f.high_used += taken["high_security"] - from_carried
        f.stored -= taken["storage"]
        f.bored += taken["bore"]
        f.pumped += taken["supplementary"]
        return taken

    def fill_storage(self, f: Twin, river: dict[str, Any], already: float) -> None:
        """Pump into the farm storage; it evaporates, seeps and is rained on."""
        if self.water.storage_capacity_ml == 0.0:
            return
        pumped = min(
            self.flow_left(f, river, already), max(0.0, self.water.storage_capacity_ml - f.stored)
        )
        f.pumped += pumped
        held = f.stored + pumped + river["storage_gain_mm"] * self.water.storage_surface_ha * MM_HA
        f.stored = min(max(held, 0.0), self.water.storage_capacity_ml)

    def bear(self, f: Twin, river: dict[str, Any]) -> None:
        """Evaporation from the account, then a spill."""
        kept = 1.0 - river["evaporation_share_frac"]
        f.account, f.carried = f.account * kept, f.carried * kept
        if spill := river["spill"]:
            gone = f.carried * (spill["carried_frac"] or 0.0)
            of_all = f.account * (spill["account_frac"] or 0.0)
            f.account = max(0.0, f.account - of_all - gone)
            if spill["reset_ml_per_share"] is not None:
                f.account = min(f.account, spill["reset_ml_per_share"])
            f.carried -= gone
        if shared := river["shared"]:
            filled = min(shared["most_ml_per_share"], f.account + shared["offered_ml_per_share"])
            f.account = max(f.account, filled)  # what was bought beyond its space stays
            f.account *= shared["kept_frac"]
        f.carried = min(f.carried, f.account)

    # -- money -------------------------------------------------------------------------------------

    def money_moves(
        self,
        f: Twin,
        river: dict[str, Any],
        taken: dict[str, float],
        used: list[float],
        bought: float,
        sold: float,
    ) -> None:
        """Costs, harvests, income, interest, and the lender."""
        cash, k, t = self.cash, river["k"], river["t"]
        hired, hired_cost = taken.get("hired", 0.0), taken.get("hired cost", 0.0)
        got = sum(ml for source, ml in taken.items() if source != "hired cost")
        charge = (got - taken["bore"] - hired) * cash.usage_aud_per_ml
        charge += taken["bore"] * cash.bore_aud_per_ml + hired_cost
        due = self.due(f, t)
        per_ml = charge / got if got > 0.0 else 0.0
        standing = sum(each.sown for each in f.fields if each is not None)
        land = f.prepared * float(self.crop.prepared_cost_aud_per_ha[k])
        fallow = max(0.0, self.crop.developed_ha - standing)
        costs = land + fallow * float(cash.fallow_cost_aud_per_ha[k])
        harvested: dict[int, tuple[float, float]] = {}  # units and their cost, by place
        for place, each in enumerate(f.fields):
            if each is None:
                continue
            layout = self.layouts[place]
            cost = each.to_harvest * float(layout.growing_cost_aud_per_ha[k]) + used[place] * per_ml
            costs += cost
            each.spent += cost
            if layout.harvest_k == k:
                harvested[place] = self.harvest(each, place, river)
                costs += harvested[place][1]
                f.fields[place] = None
        costs += self.book(f, harvested, river)
        income = float(cash.money_to_come_aud[t])
        for crop, money in enumerate(f.money):
            layout = next(each for each in self.layouts if each.crop_at == crop)
            income += money * float(layout.income_pattern[k])
        costs += due["overheads"]
        if self.market is not None:
            income += sold * self.got(river)
            costs += bought * self.paid(river)
        interest = max(0.0, -f.bank) * cash.overdraft_rate_frac_per_month
        f.bank += income - costs - interest + due["off_farm"]
        f.bank -= due["drawings"] + float(cash.machinery_aud[t]) + self.tax(f, river)
        f.spent_land += land
        if cash.tax_rate_frac is not None:
            late = f.arrears * cash.arrears_rate_frac_per_month
            f.profit += income - costs - interest - late
            f.profit -= due["interest"] + float(cash.depreciation_aud[t])
        self.pay(f, due["interest"] + due["principal"])

    def tax(self, f: Twin, river: dict[str, Any]) -> float:
        """Close the tax year and return what is paid, AUD."""
        rate = self.cash.tax_rate_frac
        if rate is None:
            return float(self.cash.tax_aud[river["t"]])
        if river["turns_year"]:
            left = f.profit - f.losses
            f.losses, f.profit = max(0.0, -left), 0.0
            f.tax_due += rate * max(0.0, left)
        paid = 0.0
        if river["k"] == self.cash.tax_k:
            paid, f.tax_due = f.tax_due, 0.0
        return paid

    def harvest(self, each: TwinField, place: int, river: dict[str, Any]) -> tuple[float, float]:
        """Bring a field in where that pays; return units and what it cost."""
        layout, by_rain = self.layouts[place], river["rain_yield_frac"][place]
        units = cost = 0.0
        for area, zone in ((each.watered, each.wet_zone), (each.dry, each.dry_zone)):
            per_ha = layout.full_yield_units_per_ha * (zone.kept if by_rain is None else by_rain)
            per_ha *= self.met(layout.crop_at, river)[0]
            price = self.price(place, river)
            leaves = price - layout.harvest_cost_aud_per_unit
            if per_ha * leaves > layout.harvest_cost_aud_per_ha:
                units += area * per_ha
                cost += area * layout.harvest_cost_aud_per_ha
                cost += area * per_ha * layout.harvest_cost_aud_per_unit
        return units, cost

    def met(self, crop: int, river: dict[str, Any]) -> tuple[float, float]:
        """The year's factors on full yield and price."""
        met = river["year_met"][crop] if river["year_met"] else None
        return (1.0, 1.0) if met is None else met

    def price(self, place: int, river: dict[str, Any]) -> float:
        """What a unit brings this year, with what comes with it."""
        layout = self.layouts[place]
        drawn = layout.sold_aud_per_unit * self.met(layout.crop_at, river)[1]
        return drawn + layout.price_aud_per_unit - layout.sold_aud_per_unit

    def book(
        self, f: Twin, harvested: dict[int, tuple[float, float]], river: dict[str, Any]
    ) -> float:
        """Book what harvests will bring; return what bales sold and not grown cost."""
        season, k = river["season"], river["k"]
        for crop in {layout.crop_at for layout in self.layouts if layout.harvest_k == k}:
            f.money[crop] = sum(
                units * self.price(place, river)
                for place, (units, _) in harvested.items()
                if self.layouts[place].crop_at == crop
            )
        main = [place for place in self.crop.places if place in harvested]
        sold = float(self.cash.forward.bales[season])
        if k != self.crop.picking_k or not main or sold == 0.0:
            return 0.0
        delivered = min(sum(harvested[place][0] for place in main), sold)
        better = float(self.cash.forward.lint_aud_per_bale[season])
        spot = self.layouts[0].sold_aud_per_unit * self.met(0, river)[1]
        f.money[0] += delivered * (better - spot)
        return (sold - delivered) * float(self.cash.forward.washout_aud_per_bale[season])

    def pay(self, f: Twin, due: float) -> None:
        """Pay what is due if it fits, then clear arrears as far as there is room."""
        owed = f.arrears * (1.0 + self.cash.arrears_rate_frac_per_month)
        limit = self.cash.overdraft_limit_aud
        if due > 0.0 and f.bank - due < -limit:
            f.arrears = owed + due
            return
        f.bank -= due
        cleared = min(owed, max(0.0, f.bank + limit))
        f.bank -= cleared
        f.arrears = owed - cleared


def close(one: float, other: float) -> bool:
    """Return whether two numbers agree to rounding."""
    return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-6)


def differences(slow: Twin, state: FarmState, strategy: int, sequence: int) -> list[Any]:
    """Return where a farm differs from the arrays: (what, slow, fast).

    A root zone counts only where there is land: elsewhere the fast farm need not follow it.
    """
    pairs = [
        (name, number, at(getattr(state, name), strategy, sequence))
        for name, number in zip(ACCOUNTS, slow.numbers(), strict=True)
    ]
    pairs += [
        ("money", number, at(money, strategy, sequence))
        for number, money in zip(slow.money, state.crop_money_aud, strict=True)
    ]
    for each, fast in zip(slow.fields, state.fields, strict=True):
        pairs += _field_pairs(each, fast, strategy, sequence)
    if slow.drought is not None and state.drought is not None:
        pairs += _drought_pairs(slow.drought, state.drought, strategy, sequence)
    return [pair for pair in pairs if not close(pair[1], pair[2])]


def _drought_pairs(
    slow: TwinDrought, fast: Drought, strategy: int, sequence: int
) -> list[tuple[str, float, float]]:
    """Return what is compared of what drought steps changed."""
    hired = sum(at(each.left_ml, strategy, sequence) for each in fast.hired if each is not None)
    pairs = [
        ("shares", slow.shares, at(fast.shares_ml, strategy, sequence)),
        ("deposit", slow.deposit, at(fast.deposit_aud, strategy, sequence)),
        ("machinery", slow.machinery, at(fast.machinery_sold_aud, strategy, sequence)),
        ("dry seasons", slow.dry_seasons, at(fast.seasons_of_nothing, strategy, sequence)),
        ("taken", len(slow.taken), sum(at(each, strategy, sequence) for each in fast.taken)),
        ("hired", sum(slow.hired.values()), hired),
    ]
    for one, other in zip(slow.loans, fast.loans, strict=True):
        pairs += [
            ("owed", one.owed, at(other.balance_aud, strategy, sequence)),
            ("payments", one.payments, at(other.payments_left, strategy, sequence)),
            ("interest only", one.interest_only, at(other.interest_only_left, strategy, sequence)),
        ]
    return pairs


def _field_pairs(
    each: TwinField | None, fast: Field | None, strategy: int, sequence: int
) -> list[tuple[str, float, float]]:
    """Return what is compared of a field; a field of no land may be left out by the fast farm."""
    if each is None or fast is None:
        nothing = each is None or (each.sown == 0.0 and each.spent == 0.0)
        none = fast is None or at(fast.sown_ha, strategy, sequence) == 0.0
        return [("field", float(nothing and none), 1.0)]
    pairs = [
        ("sown", each.sown, at(fast.sown_ha, strategy, sequence)),
        ("watered", each.watered, at(fast.watered_ha, strategy, sequence)),
        ("dry", each.dry, at(fast.dry_ha, strategy, sequence)),
        ("spent", each.spent, at(fast.spent_aud, strategy, sequence)),
    ]
    for name, area, zone, soil in (
        ("watered", each.watered, each.wet_zone, fast.watered),
        ("dry", each.dry, each.dry_zone, fast.dry),
    ):
        if area > 0.0:
            pairs += [
                (f"{name} water", zone.water, at(soil.water_mm, strategy, sequence)),
                (f"{name} kept", zone.kept, at(soil.kept_frac, strategy, sequence)),
                (f"{name} low days", zone.low_days, at(soil.low_days, strategy, sequence)),
            ]
    return pairs
