"""The few colours, by their part: those of the pages. One accent; no colour carries a meaning alone."""

PALETTE: dict[str, str] = {
    "ink": "#1d2427",
    "muted": "#4a5357",
    "rule": "#cfc7b9",
    "wash": "#f8f5ef",
    "accent": "#8a3b12",
    "soft": "#e6c4ac",
    "paper": "#ffffff",
}
