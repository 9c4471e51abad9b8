"""battenbook: survey, takeoff, price and papers for fabric-covered sound-absorbing walls."""

__version__ = "0.1.0"
