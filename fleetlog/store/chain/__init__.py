"""The hash chains: what is sealed, and how a log is compared with it."""
