"""Keeping private links out of log lines: a server writes every address it is asked for."""

from __future__ import annotations

import logging
import re

TOKEN = re.compile(r"(/v/)(?!trip/)[^/\s\"'?#]+")


class HideTokens(logging.Filter):
    """Blank out the token of a private link in whatever is about to be written."""

    def filter(self, record: logging.LogRecord) -> bool:
        said = record.getMessage()
        hidden = TOKEN.sub(r"\1[hidden]", said)
        if hidden != said:
            record.msg, record.args = hidden, ()
        return True
