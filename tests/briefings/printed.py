"""Packs printed once for all the tests that look at them."""

import io
import re
from functools import cache

import pdfplumber
import pypdf

from briefings.pack.pdf import pack_pdf
from tests.briefings.pack_examples import EXAMPLES


@cache
def printed(name):
    """Return an example pack's bytes."""
    return pack_pdf(EXAMPLES[name].as_json())


@cache
def pages(name):
    """Return an example pack's pages with what stands where."""
    return pdfplumber.open(io.BytesIO(printed(name))).pages


def texts_of(pdf):
    """Return the words of each page in reading order, in single spaces."""
    return [re.sub(r"\s+", " ", p.extract_text()) for p in pypdf.PdfReader(io.BytesIO(pdf)).pages]


@cache
def texts(name):
    """Return the words of each page of an example pack."""
    return texts_of(printed(name))
