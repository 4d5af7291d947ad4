"""Every table of the gauges, in the order a newcomer meets them; each stands in `tables/`."""

from guiding.gauges.tables.fits import Fit as Fit
from guiding.gauges.tables.fits import FitTurn as FitTurn
from guiding.gauges.tables.fits import Modelled as Modelled
from guiding.gauges.tables.forecasts import Forecast as Forecast
from guiding.gauges.tables.forecasts import ForecastQuerySet as ForecastQuerySet
from guiding.gauges.tables.forecasts import WeatherRun as WeatherRun
from guiding.gauges.tables.places import BeatGauge as BeatGauge
from guiding.gauges.tables.places import Gauge as Gauge
from guiding.gauges.tables.places import Mark as Mark
from guiding.gauges.tables.places import PoolGauge as PoolGauge
from guiding.gauges.tables.places import Sounding as Sounding
from guiding.gauges.tables.readings import Quantity as Quantity
from guiding.gauges.tables.readings import Reading as Reading
from guiding.gauges.tables.readings import ReadingImport as ReadingImport
from guiding.gauges.tables.readings import ReadingRevision as ReadingRevision
from guiding.gauges.tables.readings import Series as Series
from guiding.gauges.tables.scores import ForecastScore as ForecastScore
from guiding.gauges.tables.scores import ScoredDay as ScoredDay
