"""The engine's version: part of every result, and raised whenever a figure or a check can come out differently."""

ENGINE_VERSION = "1.0.3"
