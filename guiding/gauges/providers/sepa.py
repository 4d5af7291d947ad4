"""The Scottish Environment Protection Agency's time-series service, a KiWIS server.

Published source: SEPA, time series data service (API), documentation: 5,000 credits a day without a
key. What a request costs is not published, so few are made. The wording of the credit is that of
several public bodies; the agency's own was not seen.
"""

from guiding.gauges.providers.kiwis import client

AGENCY = client(
    code="sepa",
    name="Scottish Environment Protection Agency",
    licence="Open Government Licence v3.0",
    licence_url="https://www.nationalarchives.gov.uk/doc/open-government-licence/version/3/",
    credit=(
        "Contains SEPA data © Scottish Environment Protection Agency and database right, "
        "Open Government Licence v3.0"
    ),
    base="https://timeseries.sepa.org.uk/KiWIS/KiWIS",
    requests_a_day=400,
    wishes=(
        "whoever puts its data on a web page is asked to register, by a letter to "
        "hydrometry-requests@sepa.org.uk"
    ),
)
