"""Every agency that can be asked. A new one is its own file and a line here."""

from guiding.gauges.providers import ea_floods, ea_hydrology, kiwis, metno, opw, sepa
from guiding.gauges.providers.agency import Agency

AGENCIES: tuple[Agency, ...] = (
    metno.AGENCY,
    sepa.AGENCY,
    ea_floods.AGENCY,
    ea_hydrology.AGENCY,
    opw.AGENCY,
    kiwis.AGENCY,
)
BY_CODE = {agency.code: agency for agency in AGENCIES}
