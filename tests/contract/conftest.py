"""The same application and client as the tests of the web layer."""

from tests.web.conftest import app, client, desk, knowledge, quotes

__all__ = ["app", "client", "desk", "knowledge", "quotes"]
