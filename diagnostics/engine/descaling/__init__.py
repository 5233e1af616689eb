"""The arithmetic of a descale: acid, deposit, metal, doses, gas, neutralising, rinsing, rig and end.

Pure functions. What they return helps to plan; the cleaner's label, its safety data sheet, local codes and
licensed practice come first.
"""
