"""Symptoms in customers' words: which are the same, and which the shop knows.

Two symptoms are the same when they have the same words, whatever their order, case, punctuation, little words and
endings: "Stops after 10 minutes: cooling fault" is "Cooling fault, stops after ten minutes". Words that change what
is meant (no, not, on, off, one, two) always count.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache

from peewee import fn

from inventory.store.tables import Job

_STOP_WORDS = frozenset((
    "a", "an", "the", "is", "are", "it", "its", "this", "that", "of", "and", "or", "to", "with", "in", "at", "by",
    "for", "from", "very", "some", "when", "then",
))  # fmt: skip
_NUMBER_WORDS = {
    "one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8",
    "nine": "9", "ten": "10",
}  # fmt: skip
MAX_KNOWN, MAX_SIMILAR = 40, 4


@dataclass(frozen=True)
class KnownSymptom:
    """A symptom as it is written most often, with the closed jobs that had it."""

    words: str
    jobs: int


@lru_cache(maxsize=4096)
def normalize_words(text: str) -> str:
    """Return a text normalized for comparison: without case, punctuation and extra space."""
    return " ".join("".join(c if c.isalnum() else " " for c in text.casefold()).split())


def significant_words(symptom: str) -> frozenset[str]:
    """Return the words that tell one symptom from another."""
    words = normalize_words(symptom).split()
    return frozenset(_stem(_NUMBER_WORDS.get(word, word)) for word in words if word not in _STOP_WORDS)


def _stem(word: str) -> str:
    """Return a word without the s of a plural or a verb: "stops" is "stop"."""
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def known_symptoms(unit_model_id: int | None = None) -> list[KnownSymptom]:
    """Return the symptoms of the shop's jobs, or of those of one model, the commonest first."""
    number = fn.COUNT(Job.id)
    query = Job.select(Job.symptom, number.alias("number")).where(Job.symptom != "").group_by(Job.symptom)
    if unit_model_id is not None:
        query = query.where(Job.unit_model == unit_model_id)
    times: Counter[frozenset[str]] = Counter()
    best: dict[frozenset[str], str] = {}
    rows: list[tuple[str, int]] = list(query.order_by(number.desc(), Job.symptom).tuples())  # type: ignore[arg-type]
    for words, jobs in rows:
        times[significant_words(words)] += jobs
        best.setdefault(significant_words(words), words)
    return [KnownSymptom(best[key], count) for key, count in times.most_common(MAX_KNOWN)]


def similar_symptoms(symptom: str, unit_model_id: int | None) -> list[KnownSymptom]:
    """Return other symptoms of the same model that share words with this one, the most similar first."""
    if unit_model_id is None:
        return []
    mine = significant_words(symptom)
    others = [(symptom, significant_words(symptom.words)) for symptom in known_symptoms(unit_model_id)]
    if any(words == mine and other.jobs > 1 for other, words in others):
        return []  # it is one that the shop knows
    shared = [
        (len(mine & words) / len(mine | words), other) for other, words in others if words != mine and mine & words
    ]
    return [other for _, other in sorted(shared, key=lambda pair: (-pair[0], -pair[1].jobs))][:MAX_SIMILAR]
