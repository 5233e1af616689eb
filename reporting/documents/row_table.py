"""A table that breaks between its rows only, and not so that the head or a single row stands alone."""

from __future__ import annotations

from typing import Any

from reportlab.platypus import Flowable, Table

FRESH = 668.0  # the text of a letter page is 672 points high, of A4 722: with this left nothing stands above
SHORT = 250.0


class RowTable(Table):
    """Its head is repeated. A short one moves to the next page whole; only a row beyond a page is cut."""

    _rowHeights: list[float]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{**kwargs, "splitInRow": 0})

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        self.wrap(available_width, available_height)
        heights = list(self._rowHeights)
        head: int = self.repeatRows
        fresh = available_height >= FRESH
        if max(heights[head:], default=0.0) + sum(heights[:head]) > FRESH:
            self.splitInRow = 1
            return list(super().split(available_width, available_height))
        if not fresh and sum(heights) <= SHORT:
            return []
        first = self._rows_that_fit(heights, available_height)
        if first < len(heights) and len(heights) - first < 2:
            first -= 1
        if first - head < min(2, len(heights) - head) and not fresh:
            return []
        room = sum(heights[:first]) + 0.01 if first < len(heights) else available_height
        return list(super().split(available_width, room))

    @staticmethod
    def _rows_that_fit(heights: list[float], room: float) -> int:
        used = 0.0
        for number, height in enumerate(heights):
            used += height
            if used > room:
                return number
        return len(heights)
