# SPDX-License-Identifier: GPL-3.0-or-later
"""The true azimuth that a recommendation is to meet."""


def recommended_truth(recommended, least, equal):
    """`least`, `equal`: the true azimuths of these criteria. Between the two, it lies at the share of the way that the answer states. None if it needs
    equal crosstalk and that does not exist."""
    share = {"least_crosstalk": 0.0, "equal_crosstalk": 1.0}.get(recommended["basis"], recommended.get("towards_equal"))
    if share == 0:
        return least
    return None if equal is None else least + share * (equal - least)
