"""The engine's version: raised whenever the same inputs may give another answer."""

ENGINE_VERSION = "1.3"
