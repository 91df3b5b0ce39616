"""FormSketch: forged wire forms, from a drawing with real numbers to a true-scale template."""

__version__ = "0.1.0"
