"""How long one sequence-month of the valley takes in a plain compiled loop.

Compiles valley_loop.c with gcc and calls it through ctypes. What depends on the month of the water
year alone is worked out here once. Run `python -m tests.benchmarks.c_loop` for the timing.

Source: model/valley/SCHEME.md. Assumes that the plan and the record have been checked,
and that each row serves the calendar month it was observed in.

Units: `ml` is megalitre. Lists of twelve run July to June. Arrays are (sequence, month or season).
"""

from __future__ import annotations

import csv
import ctypes
import functools
import math
import shutil
import subprocess
import tempfile
import time
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Doubles = NDArray[np.float64]

SOURCE = Path(__file__).with_name("valley_loop.c")
MONTHS = 12
SPILL_RULES = {"none": 0, "proportional": 1, "reset": 2, "carried_first": 3}
NEVER_ML = -1.0  # a trigger that no storage reaches

RULE_FIELDS = (
    "capacity_ml",
    "dead_ml",
    "dead_area_ha",
    "delivery_loss_frac",
    "high_shares_ml",
    "high_next_years_ml",
    "general_shares_ml",
    "keep_ml_per_share",
    "keep_above_ml_per_share",
    "trigger_ml",
    "frozen_frac",
    "account_limit_ml_per_share",
    "carryover_limit_ml_per_share",
    "carryover_loss_frac",
    "use_limit_1yr_ml_per_share",
    "use_limit_3yr_ml_per_share",
    "cap_ml_per_share",
    "reset_ml_per_share",
    "opening_storage_ml",
    "opening_account_ml_per_share",
    "opening_carried_ml_per_share",
    "opening_announced_ml_per_share",
    "opening_used_ml_per_share",
    "opening_used_last_year_ml_per_share",
    "opening_used_year_before_ml_per_share",
    "opening_high_used_ml",
    "opening_high_frac",
)
CALENDAR_FIELDS = (
    "assured_inflow_ml",
    "essential_reserve_ml",
    "river_loss_reserve_ml",
    "net_evaporation_reserve_mm",
    "base_flow_reserve_ml",
    "essential_ml",
    "river_loss_ml",
    "base_flow_ml",
    "high_pattern",
    "general_share_of_rest",
)
SURFACE_FIELDS = ("storage_ml", "area_ha")
RECORD_FIELDS = ("inflow_ml", "tributary_ml", "net_evaporation_mm")
SEASON_FIELDS = (
    "announced_to_date_ml_per_share",
    "credited_ml_per_share",
    "high_security_allocation_frac",
    "account_ml_per_share",
    "storage_end_ml",
)


class _Rules(ctypes.Structure):
    _fields_ = (
        *((name, ctypes.c_double) for name in RULE_FIELDS),
        ("loss_by_balance", ctypes.c_int32),
        ("spill_rule", ctypes.c_int32),
    )


class _Calendar(ctypes.Structure):
    _fields_ = tuple((name, ctypes.c_void_p) for name in CALENDAR_FIELDS)


class _Surface(ctypes.Structure):
    _fields_ = (*((name, ctypes.c_void_p) for name in SURFACE_FIELDS), ("points", ctypes.c_int64))


class _Record(ctypes.Structure):
    _fields_ = tuple((name, ctypes.c_void_p) for name in RECORD_FIELDS)


class _Seasons(ctypes.Structure):
    _fields_ = tuple((name, ctypes.c_void_p) for name in SEASON_FIELDS)


def compile_loop() -> Any:
    """Compile the C source in a temporary folder and return its function, ready to be called."""
    gcc = shutil.which("gcc")
    if gcc is None:
        raise RuntimeError("gcc is not on the path: install it to compare with the compiled loop")
    with tempfile.TemporaryDirectory() as folder:
        library = Path(folder) / "valley_loop.so"
        command = [gcc, "-std=c11", "-O2", "-Wall", "-Werror", "-shared", "-fPIC"]
        command += [str(SOURCE), "-o", str(library)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode != 0:
            raise RuntimeError(f"gcc could not compile {SOURCE.name}:\n{done.stderr}")
        function = ctypes.CDLL(str(library)).valley_loop
    function.restype = None
    function.argtypes = [
        *(ctypes.POINTER(structure) for structure in (_Rules, _Calendar, _Surface, _Record)),
        ctypes.c_void_p,
        *[ctypes.c_int64] * 3,
        ctypes.POINTER(_Seasons),
    ]
    return function


_compiled_loop = functools.cache(compile_loop)


class CLoop:
    """The valley of one plan and record as a compiled loop over sequences and months."""

    def __init__(self, plan: dict[str, Any], record: list[dict[str, Any]]) -> None:
        self._function = _compiled_loop()
        self._rules = _rules(plan)
        self._record_length = len(record)
        # The arrays are kept beside the structures, which only point at them.
        self._calendar_arrays = _calendar_vectors(plan, record)
        self._calendar = _pointing_at(_Calendar, self._calendar_arrays)
        self._surface_arrays = {
            "storage_ml": _doubles(plan["valley"]["surface_storage_ml"]),
            "area_ha": _doubles(plan["valley"]["surface_area_ha"]),
        }
        self._surface = _pointing_at(_Surface, self._surface_arrays)
        self._surface.points = len(self._surface_arrays["storage_ml"])
        self._record_arrays = _record_vectors(plan, record)
        self._record = _pointing_at(_Record, self._record_arrays)

    def run(self, rows: NDArray[np.int32], k0: int) -> dict[str, Doubles]:
        """Season results of runs that meet these rows of the record.

        Parameters
        ----------
        rows : (sequence, month), row numbers of the record.
        k0 : month of the water year that every run opens in, 0 for July.

        Returns
        -------
        One array (sequence, season) for each of SEASON_FIELDS; a last season that the run leaves
        unfinished is given as it stands.
        """
        if rows.ndim != 2 or rows.size == 0:
            raise ValueError(f"rows must be (sequence, month) and not empty, got {rows.shape}")
        if rows.min() < 0 or rows.max() >= self._record_length:
            raise ValueError(f"rows must lie within 0 to {self._record_length - 1}")
        if not 0 <= k0 < MONTHS:
            raise ValueError(f"k0 must lie within 0 to 11, got {k0}")
        rows = np.ascontiguousarray(rows, dtype=np.int32)
        sequences, months = rows.shape
        seasons = (k0 + months + MONTHS - 1) // MONTHS
        results = {name: np.empty((sequences, seasons)) for name in SEASON_FIELDS}
        self._function(
            self._rules,
            self._calendar,
            self._surface,
            self._record,
            rows.ctypes.data,
            sequences,
            months,
            k0,
            _pointing_at(_Seasons, results),
        )
        return results


def _doubles(values: Any) -> Doubles:
    """Contiguous array of doubles."""
    return np.ascontiguousarray(values, dtype=np.float64)


def _pointing_at(structure: type[Any], arrays: dict[str, Doubles]) -> Any:
    """Structure whose fields point at the arrays of the same names."""
    return structure(**{name: array.ctypes.data for name, array in arrays.items()})


def _rules(plan: dict[str, Any]) -> _Rules:
    """Scalars of the plan, with limits left out as infinity."""
    valley, opening = plan["valley"], plan["opening"]
    high, general = valley["high_security"], valley["general_security"]
    accounts, assessment = valley["accounts"], valley["assessment"]
    access = valley.get("access")
    account_limit_ml_per_share = accounts.get("account_limit_ml_per_share", math.inf)
    dead_area_ha = np.interp(
        valley["dead_storage_ml"], valley["surface_storage_ml"], valley["surface_area_ha"]
    )
    return _Rules(
        capacity_ml=valley["capacity_ml"],
        dead_ml=valley["dead_storage_ml"],
        dead_area_ha=float(dead_area_ha),
        delivery_loss_frac=valley["delivery_loss_frac"],
        high_shares_ml=high["shares_ml"],
        high_next_years_ml=assessment["high_security_next_year_frac"]
        * high["shares_ml"]
        * assessment["years_ahead"],
        general_shares_ml=general["shares_ml"],
        keep_ml_per_share=general.get("others_keep_ml_per_share", 0.0),
        keep_above_ml_per_share=general.get("others_keep_above_ml_per_share", 0.0),
        trigger_ml=access["restriction_trigger_frac"] * valley["capacity_ml"]
        if access
        else NEVER_ML,
        frozen_frac=1.0 - access["restriction_access_frac"] if access else 0.0,
        account_limit_ml_per_share=account_limit_ml_per_share,
        carryover_limit_ml_per_share=accounts.get("carryover_limit_ml_per_share", math.inf),
        carryover_loss_frac=accounts.get("carryover_loss_frac", 0.0),
        use_limit_1yr_ml_per_share=accounts.get("use_limit_1yr_ml_per_share", math.inf),
        use_limit_3yr_ml_per_share=accounts.get("use_limit_3yr_ml_per_share", math.inf),
        cap_ml_per_share=accounts.get("allocation_cap_ml_per_share", account_limit_ml_per_share),
        reset_ml_per_share=accounts.get("reset_ml_per_share", math.inf),
        opening_storage_ml=opening["storage_ml"],
        opening_account_ml_per_share=opening["account_ml_per_share"],
        opening_carried_ml_per_share=opening.get("carried_ml_per_share", 0.0),
        opening_announced_ml_per_share=opening["announced_to_date_ml_per_share"],
        opening_used_ml_per_share=opening["used_this_year_ml_per_share"],
        opening_used_last_year_ml_per_share=opening["used_last_year_ml_per_share"],
        opening_used_year_before_ml_per_share=opening["used_year_before_ml_per_share"],
        opening_high_used_ml=opening["high_security_used_ml"],
        opening_high_frac=opening["high_security_allocation_frac"],
        loss_by_balance=accounts["loss_mode"] == "by_balance",
        spill_rule=SPILL_RULES[accounts["spill_rule"]],
    )


def _calendar_vectors(plan: dict[str, Any], record: list[dict[str, Any]]) -> dict[str, Doubles]:
    """Vectors of twelve that the assessment and the releases read by month of the water year."""
    valley = plan["valley"]
    assessment = valley["assessment"]
    k = np.arange(MONTHS)
    horizon_months = MONTHS - k + MONTHS * assessment["years_ahead"]
    reserve_months = np.full(MONTHS, assessment["essential_reserve_months"])
    net_mm = np.subtract(valley["lake_evaporation_mm"], valley["lake_rain_mm"])
    general_pattern = _doubles(valley["general_security"]["pattern"])
    rest = np.array([general_pattern[month:].sum() for month in k])
    return {
        "assured_inflow_ml": _assured_inflow(assessment, record, horizon_months),
        "essential_reserve_ml": _sums_ahead(valley["essential_ml"], reserve_months),
        "river_loss_reserve_ml": _sums_ahead(valley["river_loss_ml"], horizon_months),
        "net_evaporation_reserve_mm": _sums_ahead(np.maximum(0.0, net_mm), horizon_months),
        "base_flow_reserve_ml": _sums_ahead(valley["base_flow_ml"], horizon_months),
        "essential_ml": _doubles(valley["essential_ml"]),
        "river_loss_ml": _doubles(valley["river_loss_ml"]),
        "base_flow_ml": _doubles(valley["base_flow_ml"]),
        "high_pattern": _doubles(valley["high_security"]["pattern"]),
        "general_share_of_rest": np.divide(
            general_pattern, rest, out=np.zeros(MONTHS), where=rest > 0.0
        ),
    }


def _sums_ahead(calendar: Any, counts: NDArray[np.int64]) -> Doubles:
    """Sum of the next months of a calendar, its own count for each starting month."""
    years = _doubles(np.tile(calendar, 1 + math.ceil(counts.max() / MONTHS)))
    return np.array([years[k : k + count].sum() for k, count in enumerate(counts)])


def _assured_inflow(
    assessment: dict[str, Any], record: list[dict[str, Any]], horizon_months: NDArray[np.int64]
) -> Doubles:
    """Inflow [ML] that the rules count on, by starting month of the water year."""
    rule = assessment["assured_inflow"]
    if rule == "fixed":
        return _doubles(assessment["assured_fixed_ml_per_month"] * horizon_months)
    before = assessment.get("assured_before", "9999-12")
    inflow_ml = [row["inflow_ml"] for row in record if row["month"] < before]
    first_k = (int(record[0]["month"][5:]) - 7) % MONTHS
    frac = 0.0 if rule == "worst" else assessment["assured_percentile_frac"]
    assured_ml = np.empty(MONTHS)
    for k, count in enumerate(horizon_months):
        runs_ml = np.lib.stride_tricks.sliding_window_view(inflow_ml, count).sum(axis=1)
        assured_ml[k] = np.quantile(runs_ml[(k - first_k) % MONTHS :: MONTHS], frac)
    return assured_ml


def _record_vectors(plan: dict[str, Any], record: list[dict[str, Any]]) -> dict[str, Doubles]:
    """Monthly arrays of the record; the plan's calendar where a column is absent."""
    valley = plan["valley"]
    k = [(int(row["month"][5:]) - 7) % MONTHS for row in record]

    def column(name: str) -> Doubles:
        calendar = valley.get(name, [0.0] * MONTHS)
        return _doubles([row.get(name, calendar[i]) for row, i in zip(record, k, strict=True)])

    return {
        "inflow_ml": column("inflow_ml"),
        "tributary_ml": column("tributary_ml"),
        "net_evaporation_mm": column("lake_evaporation_mm") - column("lake_rain_mm"),
    }


def slices(
    record_length: int, k0: int, months: int, sequences: int, seed: int
) -> NDArray[np.int32]:
    """Rows of runs pieced together from random slices of a record that opens in July."""
    rng = np.random.default_rng(seed)
    in_a_run = math.ceil(months / MONTHS)
    starts = k0 + MONTHS * rng.integers(
        0, (record_length - k0) // MONTHS, size=(sequences, in_a_run, 1)
    )
    rows = (starts + np.arange(MONTHS)).reshape(sequences, -1)
    return np.ascontiguousarray(rows[:, :months], dtype=np.int32)


def main() -> None:
    """Time 10,000 sequences of 34 months on each reference plan and print ns a sequence-month."""
    folder = Path(__file__).parents[1] / "reference" / "contract"
    with (folder / "record.csv").open(newline="", encoding="utf-8") as file:
        record = [
            {name: text if name == "month" else float(text) for name, text in row.items()}
            for row in csv.DictReader(file)
        ]
    rows = slices(len(record), k0=2, months=34, sequences=10_000, seed=20_251_001)
    for name in ("plan.toml", "plan_spillable.toml", "plan_dry.toml"):
        loop = CLoop(tomllib.loads((folder / name).read_text(encoding="utf-8")), record)
        seconds = []
        for _ in range(9):
            start = time.perf_counter()
            loop.run(rows, k0=2)
            seconds.append(time.perf_counter() - start)
        best_ns, middle_ns = (1e9 * s / rows.size for s in (min(seconds), sorted(seconds)[4]))
        print(f"{name}: {best_ns:.1f} ns a sequence-month at best, {middle_ns:.1f} in the middle")


if __name__ == "__main__":
    main()
