"""The same GET over TLS: the name is checked, though the connection goes to a checked number."""

import datetime as clock
import ssl

import pytest
import requests.adapters
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID
from pytest_httpserver import HTTPServer

from guiding.feeds.getting import Bounds, NotGot, get
from tests.feeds.rawserver import RawServer

NAME = "agency.invalid"
UA = {"User-Agent": "Spatebook/0.1 (guide@upper-haugh.scot)"}


def certificate(folder, name):
    """Write a certificate that vouches for itself and for one name; return its file and key."""
    key = ec.generate_private_key(ec.SECP256R1())
    who = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    now = clock.datetime.now(clock.UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(who)
        .issuer_name(who)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - clock.timedelta(days=1))
        .not_valid_after(now + clock.timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(name)]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    paths = folder / f"{name}.pem", folder / f"{name}.key"
    paths[0].write_bytes(made.public_bytes(serialization.Encoding.PEM))
    paths[1].write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )
    return paths


@pytest.fixture
def secure(tmp_path, monkeypatch):
    """Start a server over TLS whose certificate this house trusts."""
    paths = certificate(tmp_path, NAME)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(*paths)
    monkeypatch.setattr(requests.adapters, "DEFAULT_CA_BUNDLE_PATH", str(paths[0]))
    server = HTTPServer(host="127.0.0.1", ssl_context=context)
    server.expect_request("/data").respond_with_data(b"[1]")
    server.expect_request("/away").respond_with_data(
        b"", status=301, headers={"Location": f"http://{NAME}/data"}
    )
    server.expect_request("/down").respond_with_data(b"", status=301, headers={"Location": "/data"})
    server.start()
    yield server
    server.stop()


def ask(server, name=NAME, path="/data", **changes):
    return get(
        f"https://{name}:{server.port}{path}",
        headers=UA,
        own_servers=[f"{name}:{server.port}"],
        ask=lambda host, port: ["127.0.0.1"],
        **changes,
    )


def test_an_answer_over_tls_comes_from_the_checked_address_under_its_name(secure):
    reply = ask(secure)

    assert (reply.status, reply.body) == (200, b"[1]")
    ((request, _),) = secure.log
    assert request.headers["Host"] == f"{NAME}:{secure.port}"
    assert ask(secure, path="/down").body == b"[1]"


def test_a_certificate_of_another_name_or_of_nobody_we_trust_is_refused(
    secure, tmp_path, monkeypatch
):
    with pytest.raises(NotGot, match="its certificate is not in order"):
        ask(secure, name="other.invalid")

    stranger, _ = certificate(tmp_path, "stranger.invalid")
    monkeypatch.setattr(requests.adapters, "DEFAULT_CA_BUNDLE_PATH", str(stranger))
    with pytest.raises(NotGot, match="its certificate is not in order"):
        ask(secure)
    assert secure.log == []


def test_nobody_is_led_from_https_to_http(secure):
    with pytest.raises(NotGot, match="it has moved to"):
        ask(secure, path="/away")

    assert len(secure.log) == 1


def test_a_server_that_never_shakes_hands_is_left_at_the_deadline():
    with (
        RawServer([b"", b""], pause=5) as silent,
        pytest.raises(NotGot, match=r"it was not all there after 0\.4 seconds"),
    ):
        ask(silent, bounds=Bounds(seconds=0.4))
