"""What of the evidence does a reader need first, and what stands in small print behind it?

The evidence says its verdict in paragraphs. First come all of this season, how often the band held
in later ones and whether the odds beat the long-run record, and what else bears on trust in plain
words; then the rest of every paragraph. No number is changed. The driest seasons come again on the
lender's page with the farm in them, and are not said twice.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from model.say.verdict_words import NONE_SAID

LATER: Final = re.compile(r"(Next season|The season after next): ")
MINUS: Final = re.compile(r"(?<!\w)-(?=\d)")
SENTENCE: Final = re.compile(r"(?<=[.)])\s+(?=[A-Z])")
FIRST_SENTENCES: Final = 2
"""Of a later season: how often the band held, and whether the long-run record was beaten."""
BEHIND: Final = ("Share of the long-run record's error", "Method ", "The usual flow")
NO_BETTER: Final = "No better than the long-run record"
SAID_ELSEWHERE: Final = "If the driest "


@dataclass(frozen=True, slots=True)
class TrustWords:
    """A verdict, parted."""

    first: tuple[str, ...]
    behind: tuple[str, ...]


def parted(verdict: Sequence[str]) -> TrustWords:
    """Part a verdict into what comes first and what stands behind it.

    Examples
    --------
    >>> parted(["Next season: it held. It was (-1 %). It warned twice.", "Method blocks fits."])
    TrustWords(first=('Next season: it held. It was (−1 %).',), \
behind=('Next season: It warned twice.', 'Method blocks fits.'))
    """
    first, behind = [], []
    for said in verdict:
        paragraph = MINUS.sub("−", said)
        season = LATER.match(paragraph)
        if paragraph.startswith(SAID_ELSEWHERE):
            continue
        if season:
            sentences = SENTENCE.split(paragraph)
            first.append(" ".join(sentences[:FIRST_SENTENCES]))
            if sentences[FIRST_SENTENCES:]:
                behind.append(season.group() + " ".join(sentences[FIRST_SENTENCES:]))
        elif paragraph.startswith(BEHIND):
            behind.append(paragraph)
        else:
            first.append(paragraph)
    return TrustWords(tuple(first), tuple(behind))


def no_better(verdict: Sequence[str]) -> str:
    """Give the sentence on where the odds beat nothing; empty where there is none.

    Examples
    --------
    >>> no_better(["It held.", "No better than the long-run record: the dam next season."])
    'No better than the long-run record: the dam next season.'
    >>> no_better([])
    ''
    """
    return next((said for said in verdict if said.startswith(NO_BETTER)), "")


def none_missed(verdict: Sequence[str]) -> str:
    """Give the sentence on a chance of none said too low or too high; empty where there is none.

    Examples
    --------
    >>> none_missed([f"{NONE_SAID} too low this season. Nothing was announced in 20 years."])
    'The chance of nothing announced was said too low this season.'
    >>> none_missed([f"{NONE_SAID} about right. Nothing was announced in 9 years."])
    ''
    """
    sentences = (SENTENCE.split(said)[0] for said in verdict if said.startswith(NONE_SAID))
    return next((said for said in sentences if f"{NONE_SAID} too" in said), "")
