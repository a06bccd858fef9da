"""What looks odd in where things stand, though it may be so?"""

from __future__ import annotations

from model.plan import Plan


def opening_cautions(plan: Plan) -> tuple[str, ...]:
    """Say what of a plan's opening figures a person should look at again.

    Examples
    --------
    >>> from model.demonstration import demonstration_plan
    >>> from model.plan_file import read_plan
    >>> opening_cautions(read_plan(demonstration_plan()))
    ()
    """
    valley, opening = plan.valley, plan.opening
    in_accounts_ml = (
        opening.account_ml_per_share
        * valley.general_security.shares_ml
        / (1.0 - valley.delivery_loss_frac)
    )
    in_dam_ml = max(0.0, opening.storage_ml - valley.dead_storage_ml)
    if in_accounts_ml <= in_dam_ml:
        return ()
    return (
        f"General-security accounts hold {in_accounts_ml:,.0f} ML at the dam, with delivery loss, "
        f"and the dam {in_dam_ml:,.0f} ML above dead storage: not all of it can be delivered "
        "without inflow. Look at both figures again.",
    )
