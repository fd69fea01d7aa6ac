"""The words, the ledger, the schedule and the interval engine: pure Python, no clock, no store."""
