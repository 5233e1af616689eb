"""The few colours, by the part they play. One accent; no colour carries a meaning alone."""

PALETTE: dict[str, str] = {
    "ink": "#16252b",
    "muted": "#52646c",
    "rule": "#cfd8db",
    "wash": "#eef4f5",
    "accent": "#0a5f6f",
    "soft": "#bcd9dd",
    "paper": "#ffffff",
}
