"""Tokens of people: what is signed for us is taken, everything else is refused in words that repeat nothing of it."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import jwt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.application.access import SCOPES, GateAwayError, NotKnownError
from service.identity.claims import caller_of
from service.identity.signing import LONGEST as LONGEST_SET
from service.identity.signing import PAUSE_S, REFRESH_S, NoKeysError, SigningKeys, fetcher, read_key_set
from service.identity.tokens import LEEWAY_S, LONGEST, REMEMBERED_S, TokenGate
from tests.identity.provider import AUDIENCE, ISSUER, Provider, identity_provider, new_private_key, public_jwk, unsigned

KEEP_S = 3600.0
ALGORITHMS = ("RS256", "PS256", "ES256", "EdDSA")


@dataclass
class Clock:
    """A clock that a test may put forward."""

    ahead_s: float = 0.0

    def __call__(self) -> float:
        return 1000.0 + self.ahead_s

    def now(self) -> datetime:
        return datetime.now(UTC) + timedelta(seconds=self.ahead_s)


@pytest.fixture(scope="module")
def made() -> Iterator[Provider]:
    """A provider: keys take a moment to make."""
    with identity_provider(*ALGORITHMS) as provider:
        yield provider


@pytest.fixture
def provider(made: Provider) -> Iterator[Provider]:
    """The provider, as it was after the test."""
    listed, made.asked = list(made.listed), 0
    yield made
    made.listed, made.broken = listed, None


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def gate(provider: Provider, clock: Clock) -> TokenGate:
    return TokenGate(SigningKeys(fetcher(provider.url), clock, KEEP_S), ISSUER, AUDIENCE, clock.now)


def in_(seconds: float) -> int:
    return int(datetime.now(UTC).timestamp() + seconds)


@dataclass(frozen=True)
class In:
    """A time so many seconds from when the test runs, which may be long after it was gathered."""

    seconds: float


def timed(claims: dict[str, Any]) -> dict[str, Any]:
    return {name: in_(value.seconds) if isinstance(value, In) else value for name, value in claims.items()}


async def read_anew(gate: TokenGate) -> None:
    """Wait until the keys that are being read beside the requests have come."""
    assert gate.keys._reading is not None
    await asyncio.wait({gate.keys._reading})


# ---- taken ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("algorithm", ALGORITHMS)
async def test_a_token_that_is_signed_for_us_lets_its_person_in(gate: TokenGate, provider: Provider, algorithm: str) -> None:
    caller = await gate.caller(provider.token(algorithm, name="Somebody of the office"))
    assert (caller.sort, caller.id, caller.name) == ("person", "u-1", "Somebody of the office")
    assert caller.scopes == {"quote", "rates:read"}
    assert caller.regions == frozenset({"kestrel-range"})


@pytest.mark.parametrize("sort", ["at+jwt", "application/at+jwt", "JWT", None])
async def test_a_token_may_say_what_it_is_or_not(gate: TokenGate, provider: Provider, sort: str | None) -> None:
    assert (await gate.caller(provider.token(header={"typ": sort}))).id == "u-1"


async def test_a_provider_with_one_key_need_not_name_it(provider: Provider, clock: Clock) -> None:
    provider.listed = [key for key in provider.listed if key["kid"] == "ES256"]
    gate = TokenGate(SigningKeys(fetcher(provider.url), clock, KEEP_S), ISSUER, AUDIENCE, clock.now)
    assert (await gate.caller(provider.token("ES256", header={"kid": None}))).id == "u-1"


@pytest.mark.parametrize("more", [
    {"exp": In(-LEEWAY_S + 20)}, {"nbf": In(LEEWAY_S - 20)}, {"aud": ["others", AUDIENCE]}, {"iat": None}, {"exp": 10**400},
])
async def test_clocks_may_differ_a_little_and_an_audience_may_be_one_of_several(
    gate: TokenGate, provider: Provider, more: dict[str, Any]
) -> None:
    assert (await gate.caller(provider.token(**timed(more)))).id == "u-1"


@pytest.mark.parametrize(("claims", "scopes"), [
    ({"scope": "quote openid admin  superuser"}, {"quote", "admin"}),
    ({"scope": None, "scp": ["rates:write", "files"]}, {"rates:write"}),
    ({"scope": None, "scopes": ["rates:publish", 5, None, ["admin"]]}, {"rates:publish"}),
    ({"scope": None, "scp": "quote rates:read"}, {"quote", "rates:read"}),
    ({"scope": None}, set()), ({"scope": 5}, set()), ({"scope": {"admin": True}}, set()), ({"scope": "ADMIN Quote"}, set()),
])
def test_scopes_that_are_not_known_allow_nothing(claims: dict[str, Any], scopes: set[str]) -> None:
    assert caller_of({"sub": "u-1", **claims}).scopes == scopes


@pytest.mark.parametrize(("claim", "regions"), [
    (["kestrel-range", "sollavik"], {"kestrel-range", "sollavik"}), (["*"], None), (["kestrel-range", "*"], None),
    (None, set()), ("*", set()), ("kestrel-range", set()), ([], set()), ({"*": True}, set()), ([["*"], 5, None], set()),
    (["Kestrel Range", "../base", "kestrel-range\n", ""], set()),
])
def test_only_a_list_of_regions_binds_to_regions(claim: Any, regions: set[str] | None) -> None:
    assert caller_of({"sub": "u-1", "regions": claim}).regions == regions


anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4), max_leaves=8,
)


@given(st.dictionaries(st.sampled_from(["sub", "scope", "scp", "scopes", "regions", "name", "preferred_username"]), anything))
def test_whatever_a_token_claims_it_is_refused_or_allows_only_what_is_known(claims: dict[str, Any]) -> None:
    try:
        caller = caller_of(claims)
    except NotKnownError:
        return
    assert caller.scopes <= set(SCOPES)
    assert caller.id == claims["sub"]
    assert caller.id.isprintable() and caller.name.isprintable()
    assert caller.regions is not None or "*" in claims["regions"]


# ---- refused -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("claims", "said"), [
    ({"exp": In(-LEEWAY_S - 10)}, "expired"),
    ({"exp": None}, "lacks the claim exp"),
    ({"exp": "soon"}, "cannot be read"),
    ({"nbf": In(LEEWAY_S + 600)}, "not valid yet"),
    ({"iat": In(LEEWAY_S + 600)}, "not valid yet"),
    ({"aud": "others"}, "audience"), ({"aud": None}, "audience|claim aud"), ({"aud": []}, "aud"),
    ({"iss": "https://login.example.com"}, "issuer"), ({"iss": None}, "issuer|claim iss"),
    ({"iss": [ISSUER]}, "issuer|cannot be read"),
    ({"sub": None}, "claim sub"), ({"sub": ""}, "sub"), ({"sub": 5}, "cannot be read|sub"), ({"sub": "a\u0000b"}, "sub"),
    ({"sub": "x" * 201}, "sub"),
])
async def test_a_token_with_a_wrong_claim_is_refused_with_the_reason(
    gate: TokenGate, provider: Provider, claims: dict[str, Any], said: str
) -> None:
    if isinstance(claims.get("iss"), list) or claims.get("sub") == 5:
        # The library writes no such token, so it is signed by hand.
        now = in_(0)
        body = {"iss": ISSUER, "aud": AUDIENCE, "sub": "u-1", "exp": now + 600, **claims}
        token = jwt.api_jws.encode(json.dumps(body).encode(), provider.private["RS256"], "RS256", headers={"kid": "RS256"})
    else:
        token = provider.token(**timed(claims))
    with pytest.raises(NotKnownError, match=said):
        await gate.caller(token)


CLAIMS = {"iss": ISSUER, "aud": AUDIENCE, "sub": "u-1", "exp": in_(36_000), "scope": "admin", "regions": ["*"]}


@pytest.mark.parametrize("algorithm", ["none", "None", "NONE", "HS256", "RS512", "ES384", "", None, 5, ["RS256"]])
async def test_an_algorithm_that_is_not_ours_is_refused(gate: TokenGate, algorithm: Any) -> None:
    with pytest.raises(NotKnownError):
        await gate.caller(unsigned({"alg": algorithm, "kid": "RS256", "typ": "JWT"}, CLAIMS))


async def test_the_public_key_is_no_shared_secret(gate: TokenGate, provider: Provider) -> None:
    """HS256 over the published key: a checker that lets the token choose the algorithm takes it."""
    import hashlib
    import hmac

    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

    public = provider.private["RS256"].public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    for algorithm in ("HS256", "RS256"):
        head = unsigned({"alg": algorithm, "kid": "RS256", "typ": "JWT"}, CLAIMS).rpartition(".")[0]
        signature = hmac.new(public, head.encode(), hashlib.sha256).digest()
        forged = f"{head}.{unsigned({}, {}, signature).rpartition('.')[2]}"
        with pytest.raises(NotKnownError):
            await gate.caller(forged)


@pytest.mark.parametrize(("signed", "said"), [("RS256", "PS256"), ("ES256", "RS256"), ("EdDSA", "ES256"), ("RS256", "EdDSA")])
async def test_a_key_serves_only_the_algorithms_of_its_sort(
    gate: TokenGate, provider: Provider, signed: str, said: str
) -> None:
    """A token signed with one key that names another's algorithm, or another key."""
    parts = provider.token(signed).split(".")
    head = unsigned({"alg": said, "kid": signed, "typ": "JWT"}, {}).split(".")[0]
    with pytest.raises(NotKnownError):
        await gate.caller(".".join([head, *parts[1:]]))
    with pytest.raises(NotKnownError):
        await gate.caller(provider.token(signed, header={"kid": said}))


async def test_a_key_that_names_its_algorithm_serves_no_other(provider: Provider, clock: Clock) -> None:
    provider.listed = [{**key, "alg": "PS256"} for key in provider.listed if key["kid"] == "RS256"]
    gate = TokenGate(SigningKeys(fetcher(provider.url), clock, KEEP_S), ISSUER, AUDIENCE, clock.now)
    assert (await gate.caller(jwt.encode(CLAIMS, provider.private["RS256"], "PS256", headers={"kid": "RS256"}))).id == "u-1"
    with pytest.raises(NotKnownError):
        await gate.caller(provider.token("RS256"))


async def test_a_changed_token_is_refused(gate: TokenGate, provider: Provider) -> None:
    head, body, signature = provider.token().split(".")
    more = unsigned({}, CLAIMS).split(".")[1]
    other = provider.token(sub="u-2").split(".")[2]
    for forged in (
        f"{head}.{more}.{signature}", f"{head}.{body}.{other}", f"{head}.{body}.", f"{head}.{body}.{signature[:-4]}",
        f"{head}.{body}.{'A' * len(signature)}", f"{head}.{body}.{signature}.{signature}", f"{head}..{signature}",
    ):
        with pytest.raises(NotKnownError):
            await gate.caller(forged)


@pytest.mark.parametrize("header", [
    {"crit": ["exp"], "exp": 1}, {"crit": []}, {"crit": ["b64"], "b64": False}, {"b64": False}, {"typ": "logout+jwt"}, {"typ": 5},
    {"kid": 5}, {"kid": "../../etc/passwd"}, {"kid": "' OR 1=1 --"}, {"kid": ""},
    {"jku": "http://127.0.0.1:1/keys", "kid": "theirs"}, {"x5u": "http://127.0.0.1:1/", "kid": "theirs"},
])
async def test_a_header_that_asks_for_more_is_not_followed(gate: TokenGate, provider: Provider, header: dict[str, Any]) -> None:
    token = ".".join([unsigned({"alg": "RS256", "kid": "RS256", **header}, {}).split(".")[0], *provider.token().split(".")[1:]])
    with pytest.raises(NotKnownError):
        await gate.caller(token)
    assert provider.asked <= 2


async def test_a_key_that_a_token_brings_along_is_not_taken(gate: TokenGate) -> None:
    theirs = new_private_key("RS256")
    brought = {"kid": "theirs", "jwk": public_jwk("theirs", "RS256", theirs)}
    with pytest.raises(NotKnownError):
        await gate.caller(jwt.encode(CLAIMS, theirs, "RS256", headers=brought))


@pytest.mark.parametrize("text", [
    "", ".", "..", "a.b.c", "....", "e30.e30.e30", "\x00.\x00.\x00", "ä.b.c", "e30.e30", unsigned({"alg": "RS256"}, {}),
    "W10.W10.W10", "bnVsbA.bnVsbA.bnVsbA",
])
async def test_what_is_no_token_is_refused(gate: TokenGate, text: str) -> None:
    with pytest.raises(NotKnownError):
        await gate.caller(text)


@given(st.binary(max_size=60), st.binary(max_size=60), st.binary(max_size=60))
def test_no_bytes_fail_the_gate(head: bytes, body: bytes, signature: bytes) -> None:
    import base64

    async def no_keys() -> bytes:
        raise NoKeysError("none")

    token = ".".join(base64.urlsafe_b64encode(part).rstrip(b"=").decode() for part in (head, body, signature))
    gate = TokenGate(SigningKeys(no_keys, lambda: 0.0, KEEP_S), ISSUER, AUDIENCE, lambda: datetime.now(UTC))
    with pytest.raises((NotKnownError, GateAwayError)):
        asyncio.run(gate.caller(token))


async def test_a_huge_token_is_not_looked_at(gate: TokenGate, provider: Provider) -> None:
    token = provider.token(padding="x" * LONGEST)
    with pytest.raises(NotKnownError):
        await gate.caller(token)
    assert provider.asked == 0


async def test_what_is_said_of_a_bad_token_repeats_nothing_of_it(gate: TokenGate, provider: Provider) -> None:
    hostile: list[dict[str, Any]] = [
        {"aud": "secret-words"}, {"iss": "secret-words"}, {"exp": "secret-words"}, {"nbf": "secret-words"},
    ]
    for claims in hostile:
        with pytest.raises(NotKnownError) as refused:
            await gate.caller(provider.token(**claims))
        assert "secret-words" not in str(refused.value)


# ---- remembered ----------------------------------------------------------------------------------------------------------


async def test_a_checked_token_is_remembered_but_never_past_its_end(provider: Provider, clock: Clock) -> None:
    gate = TokenGate(SigningKeys(fetcher(provider.url), clock, KEEP_S), ISSUER, AUDIENCE, clock.now)
    token = provider.token(exp=in_(40))
    first = await gate.caller(token)
    assert await gate.caller(token) is first
    clock.ahead_s = 41.0
    # Remembered for a minute otherwise; past its end it is checked anew each time.
    assert await gate.caller(token) is not first


async def test_a_token_is_checked_anew_after_a_minute(gate: TokenGate, provider: Provider, clock: Clock) -> None:
    """So that a key that the provider takes back stops."""
    token = provider.token()
    first = await gate.caller(token)
    provider.listed = [key for key in provider.listed if key["kid"] != "RS256"]
    clock.ahead_s = REFRESH_S + 1
    await gate.caller(provider.token("ES256"))
    await read_anew(gate)
    assert REMEMBERED_S < REFRESH_S
    with pytest.raises(NotKnownError):
        await gate.caller(token)
    assert first.id == "u-1"


# ---- the provider's keys -------------------------------------------------------------------------------------------------


async def test_a_new_key_of_the_provider_is_found_at_once(gate: TokenGate, provider: Provider, clock: Clock) -> None:
    assert (await gate.caller(provider.token())).id == "u-1"
    provider.publish("next", "RS256")
    clock.ahead_s = PAUSE_S
    assert (await gate.caller(provider.token("RS256", key="next"))).id == "u-1"
    assert provider.asked == 2


async def test_invented_key_ids_do_not_besiege_the_provider(gate: TokenGate, provider: Provider, clock: Clock) -> None:
    async def refused(name: str) -> bool:
        try:
            await gate.caller(provider.token(header={"kid": name}))
        except NotKnownError:
            return True
        return False

    assert all(await asyncio.gather(*(refused(f"k{n}") for n in range(100))))
    assert provider.asked == 1
    clock.ahead_s = PAUSE_S
    assert all(await asyncio.gather(*(refused(f"k{n}") for n in range(100))))
    assert provider.asked == 2


@pytest.mark.parametrize("broken", [
    (500, b""), (302, b""), (200, b"not json"), (200, b"[]"), (200, b'{"keys": []}'), (200, b'{"keys": "x"}'),
    (200, b'{"keys": [5, {}, {"kty": "oct", "k": "c2VjcmV0", "kid": "RS256"}]}'), (200, b"[" * 100_000), (200, b"\xff"),
    (200, b" " * (LONGEST_SET + 1)),
])
async def test_while_the_provider_is_away_the_last_keys_go_on_but_not_for_ever(
    gate: TokenGate, provider: Provider, clock: Clock, broken: tuple[int, bytes]
) -> None:
    assert (await gate.caller(provider.token())).id == "u-1"
    provider.broken = broken
    clock.ahead_s = REFRESH_S + 1
    assert (await gate.caller(provider.token(sub="u-2", exp=in_(10_000)))).id == "u-2"
    await read_anew(gate)
    assert provider.asked == 2
    clock.ahead_s = KEEP_S + 1
    with pytest.raises(GateAwayError):
        await gate.caller(provider.token(sub="u-3", exp=in_(10_000)))
    provider.broken = None
    clock.ahead_s += PAUSE_S
    assert (await gate.caller(provider.token(sub="u-3", exp=in_(10_000)))).id == "u-3"


async def test_a_provider_that_was_never_reached_is_said_to_be_away(provider: Provider, clock: Clock) -> None:
    gate = TokenGate(SigningKeys(fetcher("http://127.0.0.1:9/keys"), clock, KEEP_S), ISSUER, AUDIENCE, clock.now)
    for _ in range(2):
        with pytest.raises(GateAwayError):
            await gate.caller(provider.token())


def test_weak_private_and_strange_keys_of_a_set_are_passed_over() -> None:
    good = public_jwk("good", "ES256", new_private_key("ES256"))
    strange: list[Any] = [
        public_jwk("weak", "RS256", new_private_key("RS256", bits=1024)), public_jwk("curve", "ES384", new_private_key("ES384")),
        {**good, "kid": "for encryption", "use": "enc"}, {**good, "kid": "other", "alg": "ES384"}, {**good, "kid": 5},
        {**good, "kid": "not on the curve", "x": good["y"]}, {**good, "kid": "broken", "x": "AA"},
        {"kty": "oct", "k": "c2VjcmV0", "kid": "shared"}, {"kty": "RSA", "kid": "empty"}, {}, None, 5,
    ]
    keys = read_key_set(json.dumps({"keys": [*strange, good]}).encode())
    assert [key.id for key in keys] == ["good"]
    with pytest.raises(NoKeysError):
        read_key_set(json.dumps({"keys": strange}).encode())
