"""The days put together: registers, runs, baseline, balance, suspects, money. Frames in, frames out."""
