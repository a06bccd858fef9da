"""What does an evidence file say, and is it about this plan's odds?"""

from __future__ import annotations

import json
from pathlib import Path

from model.errors import Fault, InputError
from model.evidence.fingerprint import rules_fingerprint
from model.evidence.verdict import Verdict
from model.files import check_run, read_bytes, read_plain
from model.plan.plan import Plan
from model.record.record import Record


def verdict_of(path: Path, plan: Plan, record: Record) -> Verdict:
    """Return the verdict of an evidence file.

    Raises
    ------
    InputError
        It is no evidence file, or of another record, method or valley's rules, or the table beside
        it is of another run.
    """
    try:
        document = json.loads(read_bytes(path, "--evidence"))
        verdict: Verdict = read_plain(Verdict, document["verdict"])
        made_from = (
            document["record"]["sha256"],
            document["method"],
            document.get("rules_fingerprint"),
        )
        check_run(path, document)
    except InputError:
        raise
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        fault = Fault("--evidence", str(path), "it is no evidence file", "an evidence.json")
        raise InputError("command line", [fault]) from error
    if made_from != (record.sha256, plan.sequences.method, rules_fingerprint(plan)):
        problem = "it was made from another record, method or rules of the valley"
        allowed = f"evidence of this plan on {record.name} by {plan.sequences.method}"
        raise InputError("command line", [Fault("--evidence", str(path), problem, allowed)])
    return verdict
