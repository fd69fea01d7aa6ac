"""Tests of fleetlog, laid out like the package."""

import fleetlog  # noqa: F401 - before numpy: it says how many threads linear algebra may use
