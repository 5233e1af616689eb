"""What rooms above may want to hear of, since this one does not know them."""

from django.dispatch import Signal

about_to_retire = Signal()  # row, now: a receiver refuses by raising a Problem
elevation_changed = Signal()  # site, asked_by: gauge pressures read there become other absolute ones
