"""What fails in a scenario from dispatch on, put into the tables."""

from dataclasses import replace

import numpy as np

from haulshed.case import Inputs
from haulshed.tables.apparatus import Apparatus
from haulshed.tables.fill_sites import FillSites


def with_failures(inputs: Inputs) -> Inputs:
    """
    Return the district with dump valves that do not work and sites that are closed from dispatch.

    What fails later is the clock's alone.
    """
    failures = inputs.scenario.failures
    stuck = inputs.apparatus["unit_id"].isin(failures.dump_valve_fails)
    shut = [site for site, minute in failures.site_closes_min.items() if minute == 0]
    closed = inputs.fill_sites["site_id"].isin(shut)
    apparatus, sites = inputs.apparatus, inputs.fill_sites
    return replace(
        inputs,
        apparatus=Apparatus(apparatus.assign(dump_gpm=apparatus["dump_gpm"].mask(stuck, np.nan))),
        fill_sites=FillSites(sites.assign(status=sites["status"].mask(closed, "closed"))),
    )
