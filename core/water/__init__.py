"""What plants need and what the system gives: pure equations, no storage, no clock, no screen."""
