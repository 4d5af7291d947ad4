"""Every table of the bookings, in the order a newcomer meets them; each stands in `tables/`."""

from guiding.bookings.tables.bookings import FISH as FISH
from guiding.bookings.tables.bookings import Booking as Booking
from guiding.bookings.tables.bookings import BookingQuerySet as BookingQuerySet
from guiding.bookings.tables.bookings import Enquiry as Enquiry
from guiding.bookings.tables.bookings import Method as Method
from guiding.bookings.tables.bookings import Reason as Reason
from guiding.bookings.tables.bookings import SaleOverride as SaleOverride
from guiding.bookings.tables.bookings import TripChange as TripChange
from guiding.bookings.tables.bookings import TripDay as TripDay
from guiding.bookings.tables.bookings import Waiting as Waiting
from guiding.bookings.tables.parties import PartyMember as PartyMember
from guiding.bookings.tables.parties import RodPlace as RodPlace
from guiding.bookings.tables.places import Assignment as Assignment
from guiding.bookings.tables.places import FirstRefusal as FirstRefusal
from guiding.bookings.tables.places import Place as Place
from guiding.bookings.tables.places import Resource as Resource
from guiding.bookings.tables.prices import CancelTerm as CancelTerm
from guiding.bookings.tables.prices import Price as Price
from guiding.bookings.tables.prices import PriceKind as PriceKind
from guiding.bookings.tables.prices import Terms as Terms
from guiding.bookings.tables.sales import BookingLine as BookingLine
from guiding.bookings.tables.sales import Payment as Payment
