"""What an inspector asks of the fill sites: some of it at hand, some missing, some out of date."""

from collections.abc import Mapping

_ALWAYS = ("HY-1", "HY-2", "HY-3", "HY-4", "HY-5", "HY-6", "HY-7", "DH-1", "DH-2", "DH-3", "ST-1",
           "CI-1", "CI-2", "CI-3")  # fmt: skip
_NOT_IN_SNOW = ("DH-4", "PD-1", "PD-2", "PD-6")
_RIVER_SURVEY = ("Low-water survey of the Wend, L. Tarn, hydrologist", 2024)
_POND_SURVEY = ("Survey of the pond, L. Tarn, hydrologist", 2016)
#: Paper and its year.
_CERTIFICATES = {
    "DH-1": _RIVER_SURVEY,
    "DH-2": _RIVER_SURVEY,
    "DH-3": _RIVER_SURVEY,
    "PD-1": _POND_SURVEY,
}
#: Lift and whole head [ft]; the bridge at Cold Spring is high.
_HEADS_FT = {"DH-1": (11, 17), "DH-2": (14, 19), "DH-3": (17, 22), "DH-4": (13, "")}
_LIFT_FT = {"PD-1": 8, "PD-4": 6, "ST-1": 9}


def papers(site_id: str) -> Mapping[str, str | float]:
    """Return the further columns of a fill site."""
    certificate, year = _CERTIFICATES.get(site_id, ("", ""))
    lift_ft, head_loss_ft = _HEADS_FT.get(site_id, (_LIFT_FT.get(site_id, ""), ""))
    snow = "no" if site_id in _NOT_IN_SNOW else ""
    return {
        "all_weather": "yes" if site_id in _ALWAYS else snow,
        "lift_ft": lift_ft,
        "head_loss_ft": head_loss_ft,
        "certificate": certificate,
        "certified_year": year,
    }
