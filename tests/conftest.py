"""Settings of all tests: hypothesis gives the same examples each time, and has no clock.

What is tried must not depend on the day or on how busy a machine is; `make fuzz` is where
new inputs are sought.
"""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "labelkit",
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("labelkit")
