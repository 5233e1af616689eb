"""What a search box asks for: every word in one column or another, in whichever script and case."""

from __future__ import annotations

import unicodedata
from functools import reduce
from operator import and_, or_
from typing import Any

from django.db.models import Q, QuerySet

LONGEST = 80


def words_in(typed: str) -> tuple[str, list[str]]:
    """What was asked, as it is shown again, and its words."""
    asked = typed.replace("\0", "").strip()[:LONGEST]
    return asked, asked.split()


def spellings(word: str) -> set[str]:
    """SQLite tells upper from lower case beyond ASCII, and no database joins a letter with its accent."""
    if word.isascii():
        return {word}
    cases = {word, word.lower(), word.upper(), word.capitalize()}
    return {unicodedata.normalize(form, each) for each in cases for form in ("NFC", "NFD")}


def matching(rows: QuerySet[Any], columns: tuple[str, ...], words: list[str]) -> QuerySet[Any]:
    """Every word in one column or another."""
    each = (
        reduce(or_, (Q(**{f"{name}__icontains": one}) for name in columns for one in spellings(word)))
        for word in words
    )
    return rows.filter(reduce(and_, each))
