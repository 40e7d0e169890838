"""The version of the models, raised with every change of a result."""

MODEL_VERSION = "2026.3"
