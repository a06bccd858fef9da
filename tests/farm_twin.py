"""The farm's month in plain Python: one strategy, one sequence, one number at a time.

Slow and obvious on purpose, written from the rules and not from the code: the fast farm must agree
with it. It takes the river's month and the farm's rules as plain numbers; what is decided, used,
lost, earned and owed it works out on its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

from model.farm.rules import FarmRules
from model.farm.state import FarmState

MM_HA = 0.01


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
    prepared: float
    planted: float
    watered: float
    run_out: float
    rotation: float
    unplanted: float
    soil: float
    lost: float
    run_out_yield: float
    bank: float
    arrears: float
    spent_land: float
    spent_crop: float
    money: float


def twin_of(state: FarmState, strategy: int, sequence: int) -> Twin:
    """Read one farm out of the arrays; the order of fields is the same."""
    return Twin(*(float(getattr(state, f.name)[strategy, sequence]) for f in fields(state)))


def numbers_of(thing: Any, at: int) -> dict[str, Any]:
    """Read one sequence's month, or one strategy's settings, as plain numbers."""
    found: dict[str, Any] = {}
    for f in fields(thing):
        value = getattr(thing, f.name)
        if is_dataclass(value):
            found[f.name] = numbers_of(value, at)
        else:
            found[f.name] = value[at].item() if hasattr(value, "shape") else value
    return found


class TwinFarm:
    """Takes one farm through months."""

    def __init__(self, rules: FarmRules, settings: dict[str, Any]) -> None:
        self.water, self.crop, self.cash = rules.water, rules.crop, rules.cash
        self.own = settings

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
        bought = sold = 0.0
        if k == self.own["prepare_k"]:
            self.prepare(f)
        if k == self.crop.planting_k:
            bought = self.plant(f, river, expected)
        if k == self.crop.finish_k:
            self.finish(f, river, expected)
        if k == self.own["sell_k"]:
            sold = self.sell(f, river)
        taken = self.irrigate(f, river)
        self.fill_storage(f, river, taken["supplementary"])
        self.bear(f, river)
        self.money_moves(f, river, taken, bought, sold)

    def turn_year(self, f: Twin, river: dict[str, Any]) -> None:
        """1 July."""
        carryover_frac = self.water.high_security_carryover_frac
        if carryover_frac is not None:
            shares = self.water.high_security_shares_ml
            left = f.high_carried + river["high_security_ended_frac"] * shares - f.high_used
            f.high_carried = min(shares, carryover_frac * max(0.0, left))
        kept = min(f.account, self.water.carryover_limit_ml_per_share)
        f.account = f.carried = kept - kept * self.water.carryover_loss_frac
        f.used_before, f.used_last, f.used = f.used_last, f.used, 0.0
        f.high_used = f.bored = f.pumped = 0.0

    def credit_and_freeze(self, f: Twin, river: dict[str, Any]) -> None:
        """What is announced is credited as far as it fits; a low dam freezes."""
        room = max(0.0, self.water.account_limit_ml_per_share - f.account)
        f.account += min(river["announced_ml_per_share"], room)
        if not river["access"]["restricted"]:
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
        return min(max(0.0, f.account - f.frozen), self.use_left(f))

    def bore_left(self, f: Twin, months: float) -> float:
        """What the bore brings."""
        left = max(0.0, self.water.bore_ml_per_year - f.bored)
        return min(left, self.water.bore_ml_per_month * months)

    def high_left(self, f: Twin, river: dict[str, Any]) -> float:
        """High security not yet used."""
        whole = self.water.high_security_shares_ml * river["high_security_allocation_frac"]
        return max(0.0, whole - f.high_used)

    def prepare(self, f: Twin) -> None:
        """Land for the next crop."""
        least, full_at = self.own["prepare_least_frac"], self.own["prepare_all_at_ml_per_share"]
        full = 1.0 if full_at == 0.0 else min(1.0, f.account / full_at)
        f.prepared = (least + (1.0 - least) * full) * self.crop.land_limit_ha

    def held(self, account: float) -> float:
        """What is held over at planting, ML per share."""
        above = max(0.0, account - self.own["hold_above_ml_per_share"])
        return min(self.own["hold_back_ml_per_share"], above)

    def in_sight(self, f: Twin, river: dict[str, Any], expected: float, holding: bool) -> float:
        """Water a crop may count on, ML."""
        own = max(0.0, f.account - f.frozen) * (1.0 - river["account_loss_ahead_frac"])
        own = min(own + self.own["count_on_frac"] * expected, self.use_left(f))
        if holding:
            own -= self.held(own)
        k = river["k"]
        return (
            own * self.water.shares_ml
            + self.high_left(f, river)
            + max(0.0, f.stored - float(self.water.storage_loss_ahead_ml[k]))
            + self.bore_left(f, float(self.water.months_to_water[k]))
        )

    def plant(self, f: Twin, river: dict[str, Any], expected: float) -> float:
        """Plant; give what was bought."""
        counted = self.in_sight(f, river, expected, holding=True)
        land = min(f.prepared, self.crop.land_limit_ha, self.own["most_area_ha"])
        per_ha = self.own["planned_water_ml_per_ha"]
        bought = 0.0
        if self.cash.trades and river["price_aud_per_ml"] <= self.own["buy_below_aud_per_ml"]:
            room = max(0.0, self.water.account_limit_ml_per_share - f.account)
            spare = self.use_left(f) - self.usable(f)
            bought = min(
                max(0.0, land * per_ha - counted),
                self.own["buy_up_to_ml"],
                min(room, spare) * self.water.shares_ml,
            )
        area = min(land, (counted + bought) / per_ha)
        if area < self.own["smallest_area_ha"]:
            area = 0.0
        if area == 0.0:
            bought = 0.0
        f.account += bought / self.water.shares_ml
        f.rotation = max(0.0, self.crop.developed_ha - f.prepared)
        f.unplanted = f.prepared - area
        f.planted = f.watered = area
        f.prepared = f.run_out = f.lost = f.run_out_yield = 0.0
        f.soil = self.crop.planting_soil_water_mm
        f.spent_crop, f.spent_land = f.spent_land, 0.0
        return bought

    def to_come(self, f: Twin, k: int) -> float:
        """Likely need of a hectare from this month on, ML."""
        need_mm = max(0.0, float(self.crop.need_ahead_mm[k]) - f.soil)
        return need_mm * self.crop.gate_ml_per_ha_per_mm

    def pays(self, bales: float, growing: float) -> bool:
        """Whether picking pays what is still to be spent."""
        leaves = self.cash.price_aud_per_bale - self.cash.picking_cost_aud_per_bale
        return bales * leaves > growing + self.cash.picking_cost_aud_per_ha

    def finish(self, f: Twin, river: dict[str, Any], expected: float) -> None:
        """Cut back to what can be finished."""
        if self.own["spreads_shortage"]:
            return
        k = river["k"]
        need = self.to_come(f, k)
        kept = f.watered
        if need > 0.0:
            kept = min(kept, self.in_sight(f, river, expected, holding=False) / need)
        cut = f.watered - kept
        frac = float(self.crop.run_out_frac[k - 1]) * (1.0 - f.lost)
        f.run_out_yield = self.crop.full_yield_bales_per_ha * max(self.crop.rain_grown_frac, frac)
        f.watered = kept
        if self.pays(f.run_out_yield, float(self.cash.growing_cost_ahead_aud_per_ha[k])):
            f.run_out += cut

    def sell(self, f: Twin, river: dict[str, Any]) -> float:
        """Sell what is left over; give how much, ML."""
        if not self.cash.trades or river["price_aud_per_ml"] < self.own["sell_above_aud_per_ml"]:
            return 0.0
        kept = self.own["sell_keep_ml_per_share"]
        kept += self.to_come(f, river["k"]) * f.watered / self.water.shares_ml
        sold = max(0.0, self.usable(f) - kept)
        self.draw(f, sold)
        return sold * self.water.shares_ml

    def draw(self, f: Twin, used: float) -> None:
        """Use the account, carried water first."""
        f.account = max(0.0, f.account - used)
        f.carried = max(0.0, f.carried - used)
        f.used += used

    def flow_left(self, f: Twin, river: dict[str, Any], already: float) -> float:
        """Uncontrolled flow that may still be pumped this month, ML."""
        month = min(
            river["uncontrolled_ml"] * self.water.flow_share_frac,
            self.water.supplementary_ml_per_month,
        )
        year = max(0.0, self.water.supplementary_ml_per_year - f.pumped)
        return min(max(0.0, month - already), year)

    def irrigate(self, f: Twin, river: dict[str, Any]) -> dict[str, float]:
        """Water the crop; give what came from where, ML."""
        k, per_mm = river["k"], self.crop.gate_ml_per_ha_per_mm
        taken = dict.fromkeys(
            ("supplementary", "high_security", "storage", "general_security", "bore"), 0.0
        )
        if k < self.crop.planting_k or k > self.crop.last_watering_k:
            return taken
        usable = self.usable(f)
        pre_mm = self.crop.pre_water_ml_per_ha / per_mm if k == self.crop.planting_k else 0.0
        soil = min(f.soil + pre_mm, self.crop.soil_capacity_mm)
        need_mm = max(0.0, river["after_rain_mm"] - soil)
        need = need_mm * f.watered * per_mm
        pre = pre_mm * f.watered * per_mm
        ask = need + pre
        if self.own["spreads_shortage"] and k >= self.crop.finish_k:
            there = (
                usable * self.water.shares_ml
                + self.high_left(f, river)
                + f.stored
                + self.bore_left(f, float(self.water.months_to_water[k]))
            )
            likely = self.to_come(f, k) * f.watered
            if likely > 0.0:
                ask *= min(1.0, there / likely)
        left = ask
        for source in self.water.source_order:
            if source == "general_security":
                got = min(left, usable * self.water.shares_ml)
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
        got = sum(taken.values())
        self.draw(f, taken["general_security"] / self.water.shares_ml)
        f.high_used += taken["high_security"]
        f.stored -= taken["storage"]
        f.bored += taken["bore"]
        f.pumped += taken["supplementary"]
        if pre > 0.0:
            soil = max(0.0, soil - (1.0 - min(got, pre) / pre) * pre_mm)
        put_mm = need_mm if need <= 0.0 else max(0.0, got - pre) / need * need_mm
        unmet = max(0.0, river["after_rain_mm"] - soil - put_mm)
        if river["crop_use_mm"] > 0.0:
            short = unmet / river["crop_use_mm"]
            f.lost = min(1.0, f.lost + float(self.crop.sensitivity[k]) * short)
        f.soil = max(0.0, soil - max(0.0, river["after_rain_mm"] - put_mm))
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
        f.carried = min(f.carried, f.account)

    def money_moves(
        self,
        f: Twin,
        river: dict[str, Any],
        taken: dict[str, float],
        bought: float,
        sold: float,
    ) -> None:
        """Costs, picking, income, interest, and the lender."""
        cash, k, t = self.cash, river["k"], river["t"]
        land = f.prepared * float(cash.prepared_cost_aud_per_ha[k])
        from_river = sum(taken.values()) - taken["bore"]
        crop = from_river * cash.usage_aud_per_ml + taken["bore"] * cash.bore_aud_per_ml
        crop += (f.watered + f.run_out) * float(cash.growing_cost_aud_per_ha[k])
        f.spent_crop += crop
        picking = self.pick(f, river["season"]) if k == self.crop.picking_k else 0.0
        income = f.money * float(cash.income_pattern[k]) + float(cash.money_to_come_aud[t])
        other = 0.0
        for area, kind in ((f.rotation, cash.rotation), (f.unplanted, cash.unplanted)):
            income += area * float(kind.income_aud_per_ha[k])
            other += area * float(kind.cost_aud_per_ha[k])
        income += sold * river["price_aud_per_ml"]
        costs = land + crop + picking + other + bought * river["price_aud_per_ml"]
        costs += float(cash.overheads_aud[t])
        interest = max(0.0, -f.bank) * cash.overdraft_rate_frac_per_month
        f.bank += income - costs - interest + float(cash.off_farm_aud[t])
        f.bank -= float(cash.drawings_aud[t] + cash.tax_aud[t] + cash.machinery_aud[t])
        f.spent_land += land
        self.pay(f, float(cash.loan_interest_aud[t] + cash.loan_principal_aud[t]))

    def pick(self, f: Twin, season: int) -> float:
        """Pick where it pays; give what it cost."""
        cash = self.cash
        bales_per_ha = self.crop.full_yield_bales_per_ha * max(
            self.crop.rain_grown_frac, 1.0 - f.lost
        )
        watered = f.watered if self.pays(bales_per_ha, 0.0) else 0.0
        bales = watered * bales_per_ha + f.run_out * f.run_out_yield
        cost = (watered + f.run_out) * cash.picking_cost_aud_per_ha
        cost += bales * cash.picking_cost_aud_per_bale
        sold = float(cash.forward.bales[season])
        delivered = min(bales, sold)
        f.money = bales * cash.price_aud_per_bale
        if sold > 0.0:
            better = float(cash.forward.lint_aud_per_bale[season]) - cash.lint_aud_per_bale
            f.money += delivered * better
            cost += (sold - delivered) * float(cash.forward.washout_aud_per_bale[season])
        f.watered = f.run_out = f.spent_crop = 0.0
        return cost

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
    """Tell whether two numbers agree to rounding."""
    return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-6)
