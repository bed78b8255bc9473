"""What must not be found in anything that goes: private values, and the names of other things.

Free text is masked word by word; structured fields that are private never get so far, because
only fields on the allow-list do.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping

from msgspec import Struct

from register.text.nodes import Plain

MASK = "[left out]"
OTHER = "another aircraft"
#: What stands for them in a name, which must stay a name.
MASK_NAME, OTHER_NAME = "left-out", "another-aircraft"
#: A value shorter than this, or a bare number of fewer digits, says nothing by itself.
SHORTEST = 3
SHORTEST_NUMBER = 4
#: From this length on a token is looked for inside words and in encoded forms as well; a
#: number of fewer digits may be any figure and is looked for in free text only.
LONG = 6
#: Keys of any record whose values are the owner's own.
PRIVATE_KEYS = frozenset(
    (
        "cost", "costs", "price", "prices", "paid", "supplier", "suppliers", "shop", "account",
        "order", "order_number", "invoice", "site", "where", "location", "address", "phone",
        "email", "gps", "private", "private_note", "insured_for", "value_estimate",
    )
)  # fmt: skip
_MAIL = re.compile(r"[\w.+-]+@[\w-]+(?:\.[\w-]+)+")
#: Begins with + or 0, as numbers are dialled; a date does not.
_PHONE = re.compile(r"(?<![\w.+])(?:\+\d|0\d)(?:[ ()/-]?\d){6,13}(?![\w.])")
_COORDINATES = re.compile(r"(?<![\w.])-?\d{1,2}\.\d{4,}\s*[,;/ ]\s*-?\d{1,3}\.\d{4,}(?![\w.])")
_FIGURE = r"\d+(?:[.,'\u2019\u00a0\u202f ]\d{3})*(?:[.,]\d{1,2})?(?:[.,][-\u2013]{1,2})?k?"
_SPREAD = rf"{_FIGURE}(?:\s*(?:-|\u2013|/|to|or|and)\s*{_FIGURE})*"
_CURRENCY = (
    r"(?:(?i:EUR|USD|GBP|CHF|euros?|dollars?|francs?|cents?)|DKK|SEK|NOK|PLN|CZK|HUF|JPY|AUD|NZD"
    r"|[€$£¥¢₣₤₩₹₽₺₴₿])"
)
#: An amount of money: a number, or several, with a currency behind or before.
MONEY = re.compile(
    rf"(?<![\w.,]){_SPREAD}\s*{_CURRENCY}(?:(?<=[€$£])\d{{2}})?(?!\w)"
    rf"|(?<!\w){_CURRENCY}\s*{_SPREAD}(?!\w)"
)
_NUMBER = re.compile(r"[\d.,:/+() -]*\d[\d.,:/+() -]*")
_MOMENT = re.compile(r"\d{4}-\d\d-\d\d(?:[T ][\d:.+Z-]*)?|\d\d:\d\d(?::\d\d)?")
_NAME = re.compile(r"[a-z0-9][a-z0-9-]*")
_GAP = r"[\s\-]*"


class Tokens(Struct, frozen=True):
    """Words that must not go: private values, and other aircraft by name, title or mark.

    `names` are single words of people's names, sought as they are written. `common` are those
    of all these, folded, that the program itself says; `own` are names of what goes in which a
    token stands: they go as they are. `never` are the owner's words that must not go at all,
    `figures` amounts that may be seen without a currency (nothing is done about them), and
    `unheeded` those of them, and of names, that are names of what goes.
    """

    private: tuple[str, ...]
    others: tuple[str, ...]
    common: frozenset[str] = frozenset()
    own: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    figures: tuple[str, ...] = ()
    unheeded: tuple[str, ...] = ()

    @property
    def all(self) -> tuple[str, ...]:
        """Private values and other aircraft, without doubles."""
        return tuple(dict.fromkeys((*self.private, *self.others)))

    def strength(self, word: str) -> str:
        """`common`, `weak` (a short number), `short`, or `strong`."""
        if fold(word) in self.common:
            return "common"
        if is_number(word):
            return "strong" if _digits(word) >= LONG else "weak"
        return "strong" if len(word) >= LONG else "short"


def is_number(word: str) -> bool:
    """Whether a value is nothing but digits and what stands between them."""
    return _NUMBER.fullmatch(word) is not None


def _digits(word: str) -> int:
    return sum(char.isdigit() for char in word)


def collect_private(data: Plain, found: set[str]) -> None:
    """Every value in a mapping that is private as a whole (private.yaml), keys included."""
    if isinstance(data, Mapping):
        for key, value in data.items():
            if is_telling(str(key)):
                found.add(str(key))
            collect_private(value, found)
    elif isinstance(data, list):
        for item in data:
            collect_private(item, found)
    elif data is not None and not isinstance(data, bool) and is_telling(str(data)):
        found.add(str(data).strip())


def collect_marked(data: Plain, found: set[str]) -> None:
    """The values under keys that are private wherever they stand."""
    if isinstance(data, Mapping):
        for key, value in data.items():
            if str(key).lower() in PRIVATE_KEYS:
                collect_private(value, found)
            else:
                collect_marked(value, found)
    elif isinstance(data, list):
        for item in data:
            collect_marked(item, found)


def is_telling(text: str) -> bool:
    """Whether a value says anything by itself: a date or a short number does not."""
    word = text.strip()
    if _MOMENT.fullmatch(word):
        return False
    if is_number(word):
        return _digits(word) >= SHORTEST_NUMBER
    return len(word) >= SHORTEST


def make_tokens(
    private: Iterable[str],
    others: Iterable[str],
    kept: Iterable[str],
    said: frozenset[str],
    words: tuple[Iterable[str], Iterable[str], Iterable[str]] = ((), (), ()),
) -> Tokens:
    """Tokens without the words that belong to the aircraft itself (`kept`).

    `said` are the program's own words, folded. `words` are single words of names, those that
    must never leave, and the names of what goes, which alone can stand against these two.
    """
    own = {fold(word) for word in kept}
    going = {fold(word) for word in words[2]}
    names = _longest_first(word for word in words[0] if fold(word) not in going)
    never = _longest_first(word for word in words[1] if fold(word) not in going)
    plain = (word for word in private if fold(word) not in own)
    sorted_private = _longest_first((*plain, *never))
    sorted_others = _longest_first(word for word in others if fold(word) not in own)
    found = {fold(word) for word in (*sorted_private, *sorted_others, *names)}
    telling = sorted(
        word for word in own | going if any(token in word and token != word for token in found)
    )
    unheeded = _longest_first(word for some in words[:2] for word in some if fold(word) in going)
    return Tokens(
        sorted_private,
        sorted_others,
        frozenset(found & said),
        tuple(telling),
        names=names,
        never=never,
        unheeded=unheeded,
    )


def _longest_first(words: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(set(words), key=lambda word: (-len(word), word)))


def fold(text: str) -> str:
    """A text as it is compared: composed, lower case."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", text).casefold())


class Masker:
    """Masks texts. `masked` counts how often anything was found."""

    def __init__(self, tokens: Tokens, is_clean: Callable[[str], bool] | None = None):
        self.tokens = tokens
        self.masked = 0
        #: The leak scan's own judgement: what it would still find goes as a whole.
        self._is_clean = is_clean
        self._private = _pattern(tokens, tokens.private)
        self._names = pattern_of(tokens, name_patterns(tokens.names, tokens.common))
        #: What must never leave goes from free text in small letters too.
        self._never = pattern_of(
            tokens, [joined_words(word) for word in tokens.never if fold(word) in tokens.common]
        )
        self._others = _pattern(tokens, tokens.others)
        self._known: dict[str, tuple[str, int]] = {}

    def mask_text(self, text: str) -> str:
        """A free text without what must not go."""
        if self._never is None:
            return self.mask(text)
        rest, count = _replace(self._never, MASK, unicodedata.normalize("NFC", text))
        self.masked += count
        return self.mask(rest if count else text)

    def mask(self, text: str) -> str:
        """The text without what must not go, the program's own words in small letters left."""
        known = self._known.get(text)
        if known is None:
            known = self._mask(text)
            self._known[text] = known
        self.masked += known[1]
        return known[0]

    def mask_code(self, text: str) -> str:
        """The same for a name or code: a date goes as it is, and a name stays a name."""
        if _MOMENT.fullmatch(text):
            return text
        masked = self.mask(text)
        if masked != text and _NAME.fullmatch(text):
            masked = masked.replace(MASK, MASK_NAME).replace(OTHER, OTHER_NAME)
        return masked

    def _mask(self, text: str) -> tuple[str, int]:
        composed = unicodedata.normalize("NFC", text)
        result, count = composed, 0
        for pattern, word in (
            (self._private, MASK),
            (self._names, MASK),
            (MONEY, MASK),
            (_MAIL, MASK),
            (_COORDINATES, MASK),
            (_PHONE, MASK),
            (self._others, OTHER),
        ):
            if pattern is not None:
                result, more = _replace(pattern, word, result)
                count += more
        if self._is_clean is not None and not self._is_clean(result):
            return MASK, count + 1
        return (text if result == composed else result), count


def _replace(pattern: re.Pattern[str], word: str, text: str) -> tuple[str, int]:
    count = 0

    def put(match: re.Match[str]) -> str:
        nonlocal count
        if match.lastgroup == "own":
            return match.group()
        count += 1
        return word

    return pattern.sub(put, text), count


def _pattern(tokens: Tokens, words: Iterable[str]) -> re.Pattern[str] | None:
    """Each word as its strength asks."""
    return pattern_of(tokens, [part for word in words for part in token_patterns(tokens, word)])


def pattern_of(tokens: Tokens, parts: list[str]) -> re.Pattern[str] | None:
    """All of these at once; names of what goes come first (group `own`) and are left alone."""
    if not parts:
        return None
    own = [rf"(?<!\w)(?i:{re.escape(word)})(?!\w)" for word in sorted(tokens.own, key=len)[::-1]]
    before = f"(?P<own>{'|'.join(own)})|" if own else ""
    return re.compile(before + "|".join(parts))


def name_patterns(names: Iterable[str], common: frozenset[str]) -> list[str]:
    """Words of people's names, whole and as they are written, or in capitals; one written in
    small letters is a name with its first letter large too, and only so if it is `common`."""
    found: list[str] = []
    for word in names:
        forms = {word, word.upper(), word.title() if word.islower() else word}
        if fold(word) in common:
            forms.discard(word.lower())
        found.extend(rf"(?<!\w){re.escape(form)}(?!\w)" for form in sorted(forms))
    return found


def token_patterns(tokens: Tokens, word: str) -> tuple[str, ...]:
    """How a token is looked for in a text."""
    strength = tokens.strength(word)
    if is_number(word):
        signs = [sign for sign in word if sign not in " -"]
        joined = _GAP.join("[.,]" if sign in ".," else re.escape(sign) for sign in signs)
        # Few digits are in every other id; so are those that the program itself says.
        is_long = strength == "strong"
        return (joined if is_long else rf"(?<![\w.:/-]){joined}(?![\w:/-]|[.,]\d)",)
    if strength == "common":
        forms = {word.title(), word.capitalize(), word.upper()} - {word.lower()}
        return tuple(rf"(?<!\w){re.escape(form)}(?!\w)" for form in sorted(forms))
    whole = joined_words(word)
    if strength == "short":
        return (whole,)
    return (whole, rf"(?i:\w*{re.escape(word)}\w*)")


def joined_words(word: str) -> str:
    """A word or words as a whole, however they are spaced, hyphenated or written in capitals."""
    pieces = [re.escape(piece) for piece in re.split(r"[\s\-]+", word) if piece]
    return rf"(?i:(?<!\w){_GAP.join(pieces)}(?!\w))" if pieces else r"(?!)"
