"""The browser's check against `grader verify`: one corpus, the same verdict, the same reasons, the same things certified."""

from __future__ import annotations

import base64
import copy
import gzip
import json
import random
import re
import struct
import subprocess
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from grader.base.canon import canonical, read_json
from grader.base.errors import UseError
from grader.certificates import issuer as issuers
from grader.certificates import proof, status
from grader.certificates.keys import IssuerKey
from grader.certificates.multibase import base64url
from grader.certificates.verify import verify

ROOT = Path(__file__).parents[2]
SCRIPT = ROOT / "grader" / "pages" / "assets" / "verify.js"
JCS = ROOT / "tests" / "base" / "vectors" / "jcs"
W3C = Path(__file__).parent / "vectors" / "eddsa-jcs-2022"
NOW = datetime(2032, 1, 1, tzinfo=UTC)
START = datetime(1970, 1, 1, tzinfo=UTC)
OTHER = IssuerKey(bytes([7]) * 32)
SCHOOL = "https://weirgate.example/"
ADDRESS = "https://weirgate.example/issuer/status.json"
SIGNED = "2031-05-14T08:00:00Z"

LOOK = """async (batch) => {
  const read = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const out = [];
  for (const [data, issuer, list, now] of batch) {
    let found;
    try {
      const known = issuer === null ? [] : [graderVerify.readIssuer(read(issuer))];
      found = await graderVerify.verify(read(data), known, list === null ? null : read(list), now);
      delete found.fingerprint;
    } catch (error) {
      if (!(error instanceof graderVerify.Wrong)) throw error;
      found = { wrong: error.message };
    }
    out.push(found);
  }
  return out;
}"""

RUNNER = """
const fs = require('node:fs');
require(process.argv[2]);
const batch = JSON.parse(fs.readFileSync(0, 'utf8'));
(LOOK)(batch).then((found) => process.stdout.write(JSON.stringify(found)));
"""

Sign = Callable[..., bytes]
Listed = Callable[..., bytes]


@dataclass(frozen=True)
class Shown:
    """A certificate shown, with what is at hand to check it."""

    data: bytes
    issuer: bytes | None
    listed: bytes | None
    now: datetime = NOW

    def to_browser(self) -> list[Any]:
        texts = [None if part is None else base64.b64encode(part).decode() for part in (self.data, self.issuer, self.listed)]
        return [*texts, (self.now - START) // timedelta(milliseconds=1)]

    def here(self) -> dict[str, Any]:
        try:
            known = [] if self.issuer is None else [issuers.read_issuer(self.issuer)]
        except UseError as error:
            return {"wrong": str(error)}
        return verify(self.data, known, self.listed, self.now).as_json()


# Of what a library of either side says in its own words, only what ours says before it is compared.
TAILS = [
    (r"(not JSON at line \d+, column \d+): .*", r"\1"),
    (r"(not a JSON value|a number that cannot be read|not base64url|nested too deep).*", r"\1"),
    (r"the status list (cannot be unpacked: .*|is cut off, or something stands after it)", "the status list cannot be unpacked"),
]


def each(name: str, *values: Any) -> list[dict[str, Any]]:
    """The changes that put each of these values into one field."""
    return [{name: value} for value in values]


def alike(found: dict[str, Any]) -> dict[str, Any]:
    text = json.dumps(found, ensure_ascii=True, sort_keys=True)
    told = json.loads(text)
    for name in ("reasons", "wrong"):
        if name in told:
            told[name] = [_cut(one) for one in ([told[name]] if isinstance(told[name], str) else told[name])]
    return dict(told)


def _cut(reason: str) -> str:
    for pattern, kept in TAILS:
        reason = re.sub(pattern, kept, reason, flags=re.DOTALL)
    return reason


Check = Callable[[list[Shown]], None]


@pytest.fixture(scope="session")
def in_node(tmp_path_factory: pytest.TempPathFactory, node: str) -> Callable[[list[Any]], list[Any]]:
    """Runs a batch through the script in one start of Node."""
    runner = tmp_path_factory.mktemp("verify") / "run.js"
    runner.write_text(RUNNER.replace("LOOK", LOOK), "utf-8")

    def run(batch: list[Any]) -> list[Any]:
        done = subprocess.run([node, runner, SCRIPT], input=json.dumps(batch).encode(), capture_output=True, check=False)
        assert done.returncode == 0, done.stderr.decode()
        found: list[Any] = json.loads(done.stdout)
        return found

    return run


@pytest.fixture(scope="session")
def agree(in_node: Callable[[list[Any]], list[Any]]) -> Check:
    """Fails where the script and `grader verify` do not say the same of what is shown."""

    def check(shown: list[Shown]) -> None:
        for one, there in zip(shown, in_node([case.to_browser() for case in shown]), strict=True):
            assert alike(there) == alike(one.here()), one.data[:300]

    return check


@pytest.fixture(scope="session")
def document(key: IssuerKey) -> bytes:
    return canonical(issuers.document(SCHOOL, [key.multikey]))


def test_a_good_one_and_each_state_of_time_and_status(certificate: bytes, document: bytes, listed: Listed, agree: Check) -> None:
    days = ("2031-05-13T23:59:59", "2031-05-14T00:00:00", "2034-05-14T23:59:59", "2034-05-15T00:00:00", "2040-01-01T00:00:00")
    instants = [datetime.fromisoformat(f"{day}+00:00") for day in days]
    lists = [None, listed(3), listed(94567), listed(94566, 94568), listed(since="2031-05-13T00:00:00Z"), b"", b"[]", b"{}"]
    agree([Shown(certificate, document, each, now) for each in lists for now in instants])
    agree([Shown(certificate, None, listed())])


def changed(data: bytes) -> Iterator[bytes]:
    """Each byte made another; and in turn made a quote, out of ASCII, taken out, put in, given twice, the last one."""
    for place, byte in enumerate(data):
        before, after = data[:place], data[place + 1 :]
        yield before + bytes([byte ^ 1]) + after
        one = bytes([byte])
        yield (
            before
            + (b'"', bytes([byte ^ 0x80]), b"", b" " + one, one + one, one + b"}")[place % 6]
            + (after if place % 7 else b"")
        )


def test_each_byte_changed_is_judged_alike(certificate: bytes, document: bytes, listed: Listed, agree: Check) -> None:
    clear = listed()
    agree([Shown(data, document, clear) for data in changed(certificate)])


def test_each_byte_of_the_issuers_file_and_of_the_list_changed_is_judged_alike(
    certificate: bytes, document: bytes, listed: Listed, agree: Check
) -> None:
    revoked = listed(94567)
    agree([Shown(certificate, data, revoked) for data in changed(document)])
    agree([Shown(certificate, document, data) for data in changed(revoked)])


def test_whoever_signed_it_and_whatever_it_names_is_judged_alike(
    said: dict[str, Any], key: IssuerKey, sign: Sign, document: bytes, listed: Listed, agree: Check
) -> None:
    forged = proof.signed(said, OTHER, SIGNED)
    forged["proof"] |= {"verificationMethod": key.method}
    elsewhere: list[Any] = ["https://elsewhere.example/", {"id": "https://elsewhere.example/"}, {}, [], None, 5, True]
    elsewhere += ["it's", 'say "a"', "\u202e"]
    cases = [sign(said, OTHER), canonical(forged), canonical(said), json.dumps(json.loads(sign(said)), indent=2).encode()]
    cases += [sign({**said, "issuer": named}) for named in elsewhere]
    two = canonical(issuers.document(SCHOOL, [OTHER.multikey, key.multikey]))
    agree([Shown(data, known, listed()) for data in cases for known in (document, two)])


def test_another_document_that_the_issuer_signed_is_judged_alike(
    said: dict[str, Any], sign: Sign, document: bytes, listed: Listed, agree: Check
) -> None:
    instants: list[Any] = [
        *("2031-05-14", "2031-13-14T00:00:00Z", "2031-02-29T00:00:00Z", "2032-02-29T00:00:00Z", "2031-05-14T24:00:00Z"),
        *("2031-05-14T23:59:60Z", "2031-05-14T00:00:00+02:00", "2031-05-14T00:00:00-23:59", "2031-05-14T00:00:00+24:00"),
        *("2031-05-14T00:00:00+12:99", "2031-05-14T00:00:00-00:00", "0000-05-14T00:00:00Z", "0001-05-14T00:00:00Z"),
        *("9999-12-31T23:59:59Z", "2031-05-14T00:00:00.5Z", "2031-05-14T00:00:00.123456Z", "2031-05-14T00:00:00.1234567Z"),
        *("2031-05-14 00:00:00Z", "2031-05-14T00:00:00", "２０31-05-14T00:00:00Z", "2031-05-14T00:00:00Z\n", "x" * 50, ""),
    ]
    instants += [None, 5, True, [], {}, {"a": [1, None]}]
    contexts, subject = said["@context"], said["credentialSubject"]
    changes = each("validFrom", *instants) + each("validUntil", *instants)
    changes += each("type", ["VerifiableCredential"], [{}, []], [*said["type"], 7], said["type"][::-1])
    changes += each("@context", [], contexts[:1], contexts[::-1], [*contexts, {}])
    changes += each("credentialSubject", [], {}, *each("achievement", "a", {}, {"name": 5}))
    changes += each("id", None, 7, {"a": "b"}, "c-01\x1b[2J", "\u202egood", "\ue000", "\U000e0001", "Ōta 𝒳")
    identities = each("identifier", [], [{}], "x", [{"identityType": "name", "hashed": False, "identityHash": True}], [5, None])
    changes += each("credentialSubject", *(subject | identity for identity in identities))
    moments = (datetime(1, 1, 2, tzinfo=UTC), datetime(2031, 5, 14, 0, 0, 0, 123000, tzinfo=UTC), NOW)
    agree([Shown(sign({**said, **change}), document, listed(), now) for change in changes for now in moments])
    agree([Shown(listed(), document, listed())])


def _zipped(bits: bytes, tail: bytes = b"", cut: int = 0) -> str:
    packed = gzip.compress(bits, mtime=0)
    return base64url(packed[: len(packed) - cut] + tail)


def test_a_status_list_of_another_issuer_altered_or_of_no_use_is_judged_alike(
    certificate: bytes, sign: Sign, document: bytes, listed: Listed, agree: Check
) -> None:
    made = status.status_list(SCHOOL, ADDRESS, [94567], SIGNED)
    whole = bytes(status.PLACES // 8)
    spoilt = bytearray(gzip.compress(whole, mtime=0))
    spoilt[-6] ^= 1  # the check sum
    lists: list[Any] = [
        *(_zipped(whole), _zipped(whole[:-1]), _zipped(bytes(status.LIMIT)), _zipped(bytes(status.LIMIT + 1))),
        *(_zipped(whole, b"\0"), _zipped(whole, gzip.compress(b"x")), _zipped(whole, cut=1), base64url(bytes(spoilt))),
        *(base64url(zlib.compress(whole)), base64url(b"no gzip"), base64url(b"")),
        *("u", "", "z", "uAAA=", "uA", "u+/", "u°", "ua b", None, 5, [], {}),
    ]
    subject = made["credentialSubject"]
    changes = each("credentialSubject", [], {}, subject | {"statusPurpose": "suspension"})
    changes += each("credentialSubject", *(subject | {"encodedList": one} for one in lists))
    changes += each("issuer", "https://elsewhere.example/", {"id": SCHOOL}) + each("id", f"{SCHOOL}other.json", None)
    changes += each("validFrom", "2032-01-01T00:00:01Z", "2032-01-01T00:00:00Z", "soon", None, 5)
    changes += each("type", [], "BitstringStatusListCredential", [5], None)
    changes += [{"huge": 2**52}, {"text": "°"}, {"__proto__": {"type": "x"}}]
    cases = [sign({**made, **change}) for change in changes] + [sign(made, OTHER), certificate, b"\xff", bytes(2_000_000)]
    real, clear = json.loads(listed(94567)), json.loads(listed())
    real["credentialSubject"]["encodedList"] = clear["credentialSubject"]["encodedList"]
    cases += [canonical(real), json.dumps(clear, indent=1).encode(), b'{"a": 1, "a": 2}', b'{"proof": 9007199254740993}']
    cases += [listed().replace(b'"id":', b'"x":9007199254740993,"id":', 1)]
    agree([Shown(certificate, document, data) for data in cases])


def test_a_status_entry_of_another_kind_is_judged_alike(
    said: dict[str, Any], sign: Sign, document: bytes, listed: Listed, agree: Check
) -> None:
    entry = said["credentialStatus"]
    places: list[Any] = [94567, "-1", "094567", "131071", "131072", "9" * 9, "9" * 10, "9" * 5000, "", "１", "5\n", None, []]
    changes = each("statusListIndex", *places)
    changes += each("statusListCredential", None, 5, True, [], "https://elsewhere.example/")
    changes += [{"type": "StatusList2021Entry"}, {"statusPurpose": "suspension"}]
    entries: list[Any] = [*(entry | change for change in changes), [entry], None, {}, "x", 0, False]
    agree([Shown(sign({**said, "credentialStatus": one}), document, listed(131071)) for one in entries])
    bare = {name: value for name, value in said.items() if name != "credentialStatus"}
    agree([Shown(sign(bare), document, None)])


def test_a_proof_of_another_kind_is_judged_alike(certificate: bytes, document: bytes, listed: Listed, agree: Check) -> None:
    whole = json.loads(certificate)
    values: list[Any] = [None, "x", 5, True, [], ["a", 'b"', "it's"], {"a": None}]
    values += ["z", "z0", "z" + "1" * 300, "é" * 80, "a\\b\n"]
    cases = []
    for name in ("type", "cryptosuite", "proofPurpose", "created", "verificationMethod", "proofValue", "@context", "more"):
        for value in values:
            spoilt = copy.deepcopy(whole)
            spoilt["proof"][name] = value
            cases.append(canonical(spoilt))
    cases += [canonical({**whole, "proof": value}) for value in (*values, [whole["proof"]], {})]
    agree([Shown(data, document, listed()) for data in cases])


def test_an_issuers_file_of_another_kind_is_refused_alike(
    certificate: bytes, document: bytes, listed: Listed, agree: Check
) -> None:
    whole = json.loads(document)
    method = whole["verificationMethod"][0]
    changes = each("id", None, 5, "", "it's")
    changes += each("assertionMethod", [], None, "x", ["other"], [{}], [method["id"], {}])
    changes += each("verificationMethod", [], {}, [5], [{}], [method, method], [method, {"id": "x"}])
    methods = [{"type": "x"}, {"controller": "x"}, {"id": 5}]
    methods += each("publicKeyMultibase", None, "", "z", "zO", "x", "z6Mk", OTHER.multikey)
    changes += each("verificationMethod", *([method | one] for one in methods))
    cases = [canonical({**whole, **change}) for change in changes]
    cases += [b"", b"[]", b"5", b"\xef\xbb\xbf{}", b'{"id": 1, "id": 2}', json.dumps(whole, indent=3).encode(), certificate]
    agree([Shown(certificate, data, listed()) for data in cases])


# fmt: off
HOSTILE = [
    *(b"", b" ", b"\n\n", b"\xff\xfe", b"\xef\xbb\xbf{}", b"null", b"5", b"[]", b"{}", b'""', b"%PDF-2.0", b"%PD", b"\0"),
    *(b"{", b"[", b'{"a"', b'{"a":', b'{"a":1', b'{"a":1,', b'{"a":1,}', b'{"a" 1}', b"{a:1}", b"[1,]", b"[1 2]", b"[,]"),
    *(b"[1]]",),
    *(b'"abc', b'"a\nb"', b'"\\x"', b'"\\', b'"\\u12', b'"\\u12g4"', b'"\\u 123"', b'"\\u+123"', b'"\t"', b'"\x7f"', b"'a'"),
    *(b"nul", b"True", b"NaN", b"[NaN]", b"[-Infinity]", b"Infinity", b"-", b"+1", b"01", b"1.", b".5", b"1e"),
    *(b"1e+", b"-0", b"0x1"),
    *("\u00a0{}".encode(), "[1,\u2028 2]".encode(), b"\x0c{}", b"\xc0\x80", b"\xed\xa0\x80", b"\xf4\x90\x80\x80"),
    *(b"\xe2\x82", b"ab\x80"),
    *(b"[1, \xf0\x9f\x98\x80]", b'{"\xf0\x9f\x98\x80": x}', b'["a",\n\n "\xc3\xa9" x]'),
    *(b'{"a":1,"a":2,bad', b'{"a":{"b":1,"b":2}}'),
    *(b'{"' + b"k" * 80 + b'":1,"' + b"k" * 80 + b'":2}', b'{"\\u001b[2Jgood\\u202e": 1, "\\u001b[2Jgood\\u202e": 2}'),
    b'{"\\u0061":1,"a":2}',
]
INSIDE = [
    *(b"NaN", b"Infinity", b"1e999", b"-1e999", b"1e-999", b"9007199254740991", b"9007199254740992", b"-9007199254740993"),
    b"1e20",
    *(b"9" * 4300, b"9" * 4301, b"-" + b"9" * 4301, b"1" * 400 + b".5", b"-0", b"-0.0", b"1E400", b"[" * 400 + b"]" * 400),
    *(b"[" * deep + b"]" * deep for deep in (97, 98, 99, 100, 101)),
    *(b'"\\ud800"', b'"\\udc00\\ud800"', b'"\\ud83d\\ude00"', b'{"\\udfff":1}', b'"\\u0000"', b'"\xf0\x9f\x98\x80"'),
    *(b'{"__proto__":{"proof":1}}', b'{"constructor":1,"toString":2,"__proto__":3}', b'{"__proto__":1,"__proto__":2}'),
]
# fmt: on


def test_hostile_files_are_judged_alike(certificate: bytes, document: bytes, listed: Listed, agree: Check) -> None:
    shells = (b'{"@context": [], "type": [], "x": %s}', certificate.replace(b'"id":', b'"hasOwnProperty":%s,"id":', 1))
    cases = HOSTILE + [shell.replace(b"%s", each) for shell in shells for each in INSIDE]
    for name in (b"__proto__", b"constructor", b"proof", b"type"):
        cases += [certificate[:-1] + b',"' + name + b'":{}}', b'{"' + name + b'":{},' + certificate[1:]]
    cases += [certificate + tail for tail in (b"\n", b" ", b"\0", b"{}", b"\xef\xbb\xbf")]
    cases += [b" " * 2_000_000, b"[" * 100_000, b'{"a":' * 50_000]
    agree([Shown(data, document, listed()) for data in cases])


def test_a_certificate_nested_deep_is_never_good_on_either_side(
    certificate: bytes, document: bytes, listed: Listed, in_node: Callable[[list[Any]], list[Any]]
) -> None:
    # Between 500 and 1000 levels the interpreter's stack decides whether Python reads it: unreadable, or not what was signed.
    deep = [certificate[:-1] + b',"x":' + b"[" * depth + b"]" * depth + b"}" for depth in (500, 700, 890, 905, 1200)]
    for one in in_node([Shown(data, document, listed()).to_browser() for data in deep]):
        assert one["state"] in ("unreadable", "altered")


CANON = """
const fs = require('node:fs');
require(process.argv[2]);
const out = JSON.parse(fs.readFileSync(0, 'utf8')).map((text) => {
  try {
    const read = graderVerify.readJson(Uint8Array.from(Buffer.from(text, 'base64')));
    return Buffer.from(graderVerify.canonical(read)).toString('base64');
  } catch (error) { return null; }
});
process.stdout.write(JSON.stringify(out));
"""


@pytest.fixture
def spelt(tmp_path: Path, node: str) -> Callable[[list[bytes]], list[bytes | None]]:
    """JSON files in the spelling that the script gives them; None where it refuses one."""
    runner = tmp_path / "canon.js"
    runner.write_text(CANON, "utf-8")

    def run(files: list[bytes]) -> list[bytes | None]:
        batch = json.dumps([base64.b64encode(data).decode() for data in files]).encode()
        done = subprocess.run([node, runner, SCRIPT], input=batch, capture_output=True, check=False)
        assert done.returncode == 0, done.stderr.decode()
        return [None if text is None else base64.b64decode(text) for text in json.loads(done.stdout)]

    return run


def test_the_script_spells_json_as_the_published_documents_do(spelt: Callable[[list[bytes]], list[bytes | None]]) -> None:
    # RFC 8785 test data, see tests/base/vectors/SOURCES.txt
    names = sorted(path.name for path in (JCS / "input").glob("*.json"))
    assert len(names) >= 5
    found = spelt([(JCS / "input" / name).read_bytes() for name in names])
    assert found == [(JCS / "output" / name).read_bytes() for name in names]


TEXTS = (
    "a",
    "é",
    "\u2028",
    "😀",
    '\\"',
    "\\u00e9",
    "\\ud83d\\ude00",
    "\\ud800",
    "\\n",
    "\\/",
    "__proto__",
    "\x7f",
    "\ufeff",
    "\\u0000",
    " ",
)
NUMBERS = (
    "0",
    "-0",
    "1.50",
    "1E3",
    "1e-7",
    "-0.0",
    "123456789012345680000",
    "1e21",
    "0.000001",
    "9007199254740991",
    "5e-324",
    "1e400",
)
SPACES = ("", "", "", " ", "\n", "\t\r", "\u00a0")


def made_up(chance: random.Random, depth: int = 0) -> str:
    """A JSON text of chance, now and then one that is none."""
    kind = chance.randrange(8 if depth < 4 else 5)
    if kind < 2:
        return '"' + "".join(chance.choices(TEXTS, k=chance.randrange(4))) + '"'
    if kind == 2:
        return chance.choice(NUMBERS) + chance.choice(("", "", "", "", "0", ".5"))
    if kind < 5:
        return chance.choice(("true", "false", "null", "{}", "[]", "NaN" if chance.random() < 0.05 else "1"))
    inside = [made_up(chance, depth + 1) for _ in range(chance.randrange(5))]
    gaps = [chance.choices(SPACES, (9, 9, 9, 3, 3, 3, 0.05))[0] for _ in range(4)]
    if kind == 5:
        return f"[{gaps[0]}" + f"{gaps[1]},{gaps[2]}".join(inside) + f"{gaps[3]}]"
    pairs = (f'"{place}{chance.choice(TEXTS)}"{gaps[0]}:{gaps[1]}{one}' for place, one in enumerate(inside))
    return f"{{{gaps[2]}" + f",{gaps[3]}".join(pairs) + "}"


def test_files_of_chance_are_read_refused_and_spelt_alike(spelt: Callable[[list[bytes]], list[bytes | None]]) -> None:
    chance = random.Random(8785)  # noqa: S311 - a corpus, the same each time
    files = [made_up(chance).encode() for _ in range(3000)]
    for data in files[:2000]:  # and one byte of each another
        if data:
            place = chance.randrange(len(data))
            files.append(data[:place] + bytes([chance.choice(b'{}[]:,"\\0e.- \n\xc3\x00\x1fat')]) + data[place + 1 :])

    def here(data: bytes) -> bytes | None:
        try:
            return canonical(read_json(data))
        except UseError:
            return None

    wanted = [here(data) for data in files]
    assert 1000 < sum(one is None for one in wanted) < len(files) - 1000
    for data, ours, theirs in zip(files, wanted, spelt(files), strict=True):
        assert theirs == ours, data


def test_the_script_spells_numbers_as_the_rfc_does(spelt: Callable[[list[bytes]], list[bytes | None]]) -> None:
    # RFC 8785 appendix B (from memory, and as the Python side spells them): bits of a double, its spelling.
    bits = {
        "0000000000000000": "0",
        "8000000000000000": "0",
        "0000000000000001": "5e-324",
        "8000000000000001": "-5e-324",
        "7fefffffffffffff": "1.7976931348623157e+308",
        "4340000000000000": "9007199254740992",
        "4430000000000000": "295147905179352830000",
        "44b52d02c7e14af5": "9.999999999999997e+22",
        "44b52d02c7e14af6": "1e+23",
        "44b52d02c7e14af7": "1.0000000000000001e+23",
        "444b1ae4d6e2ef4e": "999999999999999700000",
        "444b1ae4d6e2ef50": "1e+21",
        "3eb0c6f7a0b5ed8c": "9.999999999999997e-7",
        "3eb0c6f7a0b5ed8d": "0.000001",
        "41b3de4355555553": "333333333.3333332",
        "41b3de4355555557": "333333333.33333343",
        "becbf647612f3696": "-0.0000033333333333333333",
        "43143ff3c1cb0959": "1424953923781206.2",
    }
    values = [struct.unpack(">d", bytes.fromhex(each))[0] for each in bits]
    wanted = [text.encode() for text in bits.values()]
    assert spelt([repr(value).encode() for value in values]) == wanted
    assert [canonical(value) for value in values] == wanted


def test_the_published_signature_is_good_to_the_script_and_no_other(in_node: Callable[[list[Any]], list[Any]]) -> None:
    # Vectors of "Data Integrity EdDSA Cryptosuites v1.0", see vectors/SOURCES.txt: another document, so "not a certificate" once
    # the signature is found good, and altered where a letter is not the published one.
    signed = json.loads((W3C / "signedJCS.json").read_text("utf-8"))
    method = signed["proof"]["verificationMethod"]
    held = {"id": method, "type": "Multikey", "controller": signed["issuer"], "publicKeyMultibase": method.partition("#")[2]}
    known = canonical({"id": signed["issuer"], "verificationMethod": [held], "assertionMethod": [method]})
    whole = canonical(signed)
    good, bad = in_node([Shown(data, known, None).to_browser() for data in (whole, whole.replace(b"2023", b"2024", 1))])
    assert good["reasons"] == ["the issuer signed it, but it is another document, not a certificate"]
    assert bad["state"] == "altered"


@pytest.mark.browser
def test_the_browser_itself_says_what_node_says(
    browser: Any, certificate: bytes, document: bytes, said: dict[str, Any], sign: Sign, listed: Listed
) -> None:
    made = status.status_list(SCHOOL, ADDRESS, [], SIGNED)
    whole = bytes(status.PLACES // 8)
    packed = [_zipped(whole, b"\0"), _zipped(whole, gzip.compress(b"x")), _zipped(whole, cut=1), _zipped(bytes(status.LIMIT + 1))]
    lists = [sign({**made, "credentialSubject": made["credentialSubject"] | {"encodedList": each}}) for each in packed]
    cases = [Shown(certificate, document, each) for each in (None, listed(3), listed(94567), *lists)]
    cases += [Shown(data, document, listed()) for place, data in enumerate(changed(certificate)) if place % 5 == 0]
    cases += [Shown(data, document, listed()) for data in (*HOSTILE, sign(said, OTHER))]
    page = browser.new_page()
    page.goto("about:blank")
    page.goto((ROOT / "tests" / "base" / "vectors" / "SOURCES.txt").as_uri())
    page.add_script_tag(content=SCRIPT.read_text("utf-8"))
    assert page.evaluate("graderVerify.canCheck()")
    found = page.evaluate(LOOK, [case.to_browser() for case in cases])
    for case, there in zip(cases, found, strict=True):
        assert alike(there) == alike(case.here()), case.data[:300]
    page.close()
