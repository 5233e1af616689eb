"""The invented world: it stands in fixtures/scenario/; its readings are made from a known truth."""
