"""Reader for grammar files in the JSpeech Grammar Format (JSGF 1.0, W3C Note 05 June 2000, https://www.w3.org/TR/jsgf/).

On the path: the first thing understanding does. Text of a file -> `Grammar` (frozen syntax tree); a folder -> `Book`, all grammars reachable by
`import` from one of them, with names resolved. What sentences mean is not known here: tags are kept as they are written.

Rules of the format as read here, by the note's own headings:
- self-identifying header: `#JSGF V1.0 [encoding [locale]];` is the very first thing in a file, and its encoding decodes the file;
- grammar name and import: `grammar NAME;`, then imports `<name.rule>` or `<name.*>`; grammar `a.b.NAME` is the file `NAME.jsgf` of the same folder;
- only public rules can be imported; a simple name means the grammar's own rule first, then an imported one, and must mean one only;
- precedence, tightest first: names, tokens, quoted tokens, `( )` and `[ ]`; then `*`, `+` and `{tags}` to the entity just before; sequences; `|`;
- weights: `/0.5/` leads an alternative; all alternatives of a set have one or none, and not all are zero;
- special rules: `<NULL>` is matched by saying nothing, `<VOID>` by nothing that can be said;
- comments as in Java; a documentation comment `/** */` before a rule is kept as its `doc`.

A mistake in a file is a `GrammarError`: one sentence with file, line and the way out. Nothing is silently repaired.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path


class GrammarError(Exception):
    """A grammar file is wrong: one sentence that begins with file and line and ends with the way out."""

    def __init__(self, file: str, line: int, message: str) -> None:
        super().__init__(f"{file}, line {line}: {message}")
        self.file, self.line = file, line


@dataclass(frozen=True, slots=True)
class Token:
    """What is spoken: one word, or several for a quoted token."""

    text: str


@dataclass(frozen=True, slots=True)
class Ref:
    """Another rule, by simple or full name, without the angle brackets. line: where it is used."""

    name: str
    line: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Sequence:
    """Items one after the other."""

    items: tuple[Expansion, ...]


@dataclass(frozen=True, slots=True)
class Alternatives:
    """One of the options. weights: empty, or one for each option."""

    options: tuple[Expansion, ...]
    weights: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Maybe:
    """`[item]`: the item or nothing."""

    item: Expansion


@dataclass(frozen=True, slots=True)
class Repeat:
    """`item*` (at_least 0) or `item+` (at_least 1)."""

    item: Expansion
    at_least: int


@dataclass(frozen=True, slots=True)
class Tagged:
    """An item with the text of its tags, in order, escapes removed."""

    item: Expansion
    tags: tuple[str, ...]


Expansion = Token | Ref | Sequence | Alternatives | Maybe | Repeat | Tagged


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule. doc: text of the documentation comment before it, without stars; `@example` lines of it are in `examples`."""

    name: str
    public: bool
    body: Expansion
    line: int = 0
    doc: str = ""

    @property
    def examples(self) -> tuple[str, ...]:
        """Sentences of the `@example` lines of the documentation comment."""
        return tuple(m.strip() for m in re.findall(r"@example[ \t]+(.+)", self.doc))


@dataclass(frozen=True, slots=True)
class Import:
    """`import <grammar.rule>;` or, with rule `*`, all public rules of that grammar."""

    grammar: str
    rule: str
    line: int


@dataclass(frozen=True, slots=True)
class Grammar:
    """One file. name: as declared; encoding and locale: from the header, empty when not given."""

    name: str
    rules: dict[str, Rule]
    imports: tuple[Import, ...] = ()
    encoding: str = ""
    locale: str = ""
    file: str = ""


_HEADER = re.compile(r"#JSGF[ \t]+V(?P<version>[\d.]+)(?:[ \t]+(?P<encoding>[^\s;]+)(?:[ \t]+(?P<locale>[^\s;]+))?)?[ \t]*;")
_LEXEMES = re.compile(
    r"""
      (?P<space>\s+)
    | (?P<doc>/\*\*(?!/).*?\*/)
    | (?P<comment>//[^\n]*|/\*.*?\*/)
    | (?P<weight>/\s*[0-9.eE+-]+\s*/)
    | <(?P<ref>[^<>\n]+)>
    | "(?P<quoted>(?:\\.|[^"\\])*)"
    | \{(?P<tag>(?:\\.|[^}\\])*)\}
    | (?P<mark>[;=|()\[\]*+])
    | (?P<word>(?:\\.|[^\s;=|*+<>()\[\]{}/"\\])+)
    """,
    re.VERBOSE | re.DOTALL,
)
_ESCAPE = re.compile(r"\\(.)", re.DOTALL)
_NAME = re.compile(r"[^\W\d][\w$]*(?:\.[^\W\d][\w$]*)*")


@dataclass(frozen=True, slots=True)
class _Lexeme:
    kind: str
    text: str
    line: int


def _lexemes(text: str, file: str, first_line: int) -> list[_Lexeme]:
    out: list[_Lexeme] = []
    at, line = 0, first_line
    while at < len(text):
        found = _LEXEMES.match(text, at)
        if found is None:
            raise GrammarError(file, line, _unclosed(text[at]))
        kind = str(found.lastgroup)
        if kind not in ("space", "comment"):
            out.append(_Lexeme(kind, found[kind], line))
        line += text.count("\n", at, found.end())
        at = found.end()
    out.append(_Lexeme("end", "", line))
    return out


def _unclosed(char: str) -> str:
    closers = {"<": ">", '"': '"', "{": "}", "/": "/ (a weight) or */ (a comment)"}
    if char in closers:
        return f"{char} is never closed; write the {closers[char]} that ends it, or \\{char} for the sign itself"
    return f"{char} cannot stand here; write \\{char} for the sign itself"


def _plain(text: str) -> str:
    return _ESCAPE.sub(r"\1", text)


class _Parser:
    """Recursive descent over the lexemes of one file, one method a level of binding."""

    def __init__(self, lexemes: list[_Lexeme], file: str) -> None:
        self.lexemes, self.file, self.at = lexemes, file, 0
        self.doc = ""

    @property
    def here(self) -> _Lexeme:
        # a documentation comment may stand anywhere a comment may; the last one before a rule belongs to it
        while self.lexemes[self.at].kind == "doc":
            self.doc = "\n".join(re.sub(r"^\s*\*?[ \t]?", "", row) for row in self.lexemes[self.at].text[3:-2].splitlines()).strip()
            self.at += 1
        return self.lexemes[self.at]

    def error(self, message: str, line: int | None = None) -> GrammarError:
        return GrammarError(self.file, self.here.line if line is None else line, message)

    def take(self, kind: str, text: str | None = None) -> _Lexeme | None:
        here = self.here
        if here.kind != kind or (text is not None and here.text != text):
            return None
        self.at += 1
        return here

    def need(self, mark: str, after: str) -> None:
        if mark == ";":
            _ = self.here  # a comment before the semicolon documents nothing
            self.doc = ""
        if not self.take("mark", mark):
            found = "the end of the file" if self.here.kind == "end" else repr(self.here.text)
            raise self.error(f"expected {mark} after {after}, not {found}; put the {mark} there")

    def grammar(self, encoding: str, locale: str) -> Grammar:
        if not self.take("word", "grammar"):
            raise self.error("the header must be followed by the grammar's name; write 'grammar NAME;'")
        word = self.take("word")
        if word is None or not _NAME.fullmatch(word.text):
            raise self.error("a grammar's name is letters and digits, with dots between packages; write 'grammar NAME;'")
        self.need(";", "the grammar's name")
        imports = tuple(self.imports())
        rules: dict[str, Rule] = {}
        while self.here.kind != "end":
            rule = self.rule()
            if rule.name in rules:
                raise self.error(f"<{rule.name}> is defined twice (first on line {rules[rule.name].line}); rename one or join them with |", rule.line)
            rules[rule.name] = rule
        return Grammar(word.text, rules, imports, encoding, locale, self.file)

    def imports(self) -> Iterator[Import]:
        while self.take("word", "import"):
            ref = self.take("ref")
            package, dot, rule = ref.text.strip().rpartition(".") if ref else ("", "", "")
            if ref is None or not dot or not package or not rule:
                raise self.error("an import names a grammar and a rule; write 'import <grammar.rule>;' or 'import <grammar.*>;'")
            self.need(";", f"import <{ref.text}>")
            yield Import(package, rule, ref.line)

    def rule(self) -> Rule:
        public = self.take("word", "public") is not None
        ref = self.take("ref")
        if ref is None:
            what = self.here.text or "the end of the file"
            raise self.error(f"expected a rule, not {what!r}; a rule is '<name> = what is said;' (is a ; missing before it?)")
        name, doc = ref.text.strip(), self.doc
        if name in ("NULL", "VOID"):
            raise self.error(f"<{name}> has a fixed meaning; choose another name", ref.line)
        if "." in name:
            raise self.error(f"<{name}>: a rule is defined by its simple name; write <{name.rpartition('.')[2]}>", ref.line)
        self.need("=", f"<{name}>")
        body = self.alternatives(f"<{name}>")
        self.need(";", f"the end of <{name}>")
        return Rule(name, public, body, ref.line, doc)

    def alternatives(self, within: str) -> Expansion:
        line = self.here.line
        options: list[Expansion] = []
        weights: list[float | None] = []
        while True:
            weight = self.take("weight")
            weights.append(self.weight(weight) if weight else None)
            options.append(self.sequence(within))
            if not self.take("mark", "|"):
                break
        given = [w for w in weights if w is not None]
        if given and len(given) != len(options):
            raise self.error(f"{within}: give each alternative a weight or none of them", line)
        if given and not any(given):
            raise self.error(f"{within}: all weights are zero, so nothing can be said; make one positive", line)
        return options[0] if len(options) == 1 and not given else Alternatives(tuple(options), tuple(given))

    def weight(self, lexeme: _Lexeme) -> float:
        try:
            value = float(lexeme.text.strip("/ \t\n"))
        except ValueError:
            raise self.error(f"{lexeme.text} is not a weight; write a number, as in /2.5/", lexeme.line) from None
        if value < 0:
            raise self.error(f"{lexeme.text}: a weight is not negative; write 0 or more", lexeme.line)
        return value

    def sequence(self, within: str) -> Expansion:
        items: list[Expansion] = []
        while (item := self.entity(within)) is not None:
            items.append(item)
        if not items:
            raise self.error(f"{within}: an alternative is empty; write <NULL> if nothing needs to be said, or remove the |")
        return items[0] if len(items) == 1 else Sequence(tuple(items))

    def entity(self, within: str) -> Expansion | None:
        here = self.here
        item: Expansion
        if self.take("word"):
            item = Token(_plain(here.text))
        elif self.take("quoted"):
            item = Token(" ".join(_plain(here.text).split()))
        elif self.take("ref"):
            item = Ref(here.text.strip(), here.line)
        elif self.take("mark", "("):
            item = self.alternatives(f"( in {within}")
            self.need(")", f"the group in {within}")
        elif self.take("mark", "["):
            item = Maybe(self.alternatives(f"[ in {within}"))
            self.need("]", f"the optional part in {within}")
        elif here.kind == "weight":
            raise self.error(f"{within}: a weight leads an alternative; move {here.text} to just after the |")
        elif here.kind == "tag" or here.text in ("*", "+"):
            raise self.error(f"{within}: {here.text} has nothing before it to belong to; put it after a word, a <rule> or a group")
        else:
            return None
        return self.suffixes(item, within)

    def suffixes(self, item: Expansion, within: str) -> Expansion:
        repeated = False
        while True:
            if tag := self.take("tag"):
                text = _plain(tag.text).strip()
                item = Tagged(item.item, (*item.tags, text)) if isinstance(item, Tagged) else Tagged(item, (text,))
            elif mark := self.take("mark", "*") or self.take("mark", "+"):
                if repeated:
                    raise self.error(f"{within}: only one * or + may follow an item; group it with ( ) if both are meant", mark.line)
                item, repeated = Repeat(item, 0 if mark.text == "*" else 1), True
            else:
                return item


def parse(text: str, file: str = "text") -> Grammar:
    """Read one grammar from its text.

    >>> parse("#JSGF V1.0; grammar g; public <size> = small | [very] large;").rules["size"].body
    Alternatives(options=(Token(text='small'), Sequence(items=(Maybe(item=Token(text='very')), Token(text='large')))), weights=())
    """
    text = text.removeprefix("\N{ZERO WIDTH NO-BREAK SPACE}")
    header = _HEADER.match(text)
    if header is None:
        raise GrammarError(file, 1, "the first line must be the header '#JSGF V1.0 UTF-8 en;', with its semicolon")
    if header["version"] != "1.0":
        raise GrammarError(file, 1, f"version {header['version']} of the format is not known; write '#JSGF V1.0 UTF-8 en;'")
    parser = _Parser(_lexemes(text[header.end() :], file, 1), file)
    return parser.grammar(header["encoding"] or "", header["locale"] or "")


def read(path: Path) -> Grammar:
    """Read one grammar from a file, in the encoding that its header names (none named: UTF-8)."""
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise GrammarError(path.name, 1, f"the file cannot be read ({error.strerror}); check its name and that it is there") from None
    header = _HEADER.match(raw[:200].removeprefix(codecs.BOM_UTF8).decode("latin-1"))
    encoding = (header["encoding"] if header else None) or "utf-8"
    try:
        return parse(raw.decode(encoding), path.name)
    except LookupError:
        raise GrammarError(path.name, 1, f"the encoding {encoding!r} is not known; write '#JSGF V1.0 UTF-8 en;'") from None
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise GrammarError(path.name, line, f"this is not {encoding} text; save the file as {encoding} or name its encoding in the header") from None


@dataclass(frozen=True, slots=True)
class Book:
    """Grammars that import one another, by full name. root: the one that was asked for."""

    root: Grammar
    grammars: dict[str, Grammar]

    def resolve(self, grammar: Grammar, name: str) -> tuple[Grammar, Rule] | None:
        """The rule that `name` means inside `grammar` (its own rules first, then imported ones); None when there is none.

        GrammarError when two imports give the same simple name, or the rule is private to another grammar."""
        if "." not in name and name in grammar.rules:
            return grammar, grammar.rules[name]
        package, _, simple = name.rpartition(".")
        found: dict[str, tuple[Grammar, Rule]] = {}
        if package in (grammar.name, grammar.name.rpartition(".")[2]) and package and simple in grammar.rules:
            return grammar, grammar.rules[simple]
        for imported in grammar.imports:
            other = self.grammars[imported.grammar]
            if imported.rule not in ("*", simple) or (package and package not in (other.name, other.name.rpartition(".")[2])):
                continue
            rule = other.rules.get(simple)
            if rule is not None and rule.public:
                found[other.name] = (other, rule)
        if len(found) > 1:
            raise GrammarError(grammar.file, 1, f"<{name}> comes from {' and '.join(sorted(found))}; write <{min(found)}.{simple}> in full")
        return next(iter(found.values()), None)

    def missing(self, grammar: Grammar, ref: Ref) -> GrammarError:
        """The error for a reference that resolves to nothing, with the nearest name there is."""
        known = {*grammar.rules, *(r.name for g in self.grammars.values() for r in g.rules.values() if r.public)}
        near = get_close_matches(ref.name, known, 1)
        hint = f"did you mean <{near[0]}>?" if near else "define it in this file or import it"
        return GrammarError(grammar.file, ref.line, f"<{ref.name}> is not defined; {hint}")


def load(folder: Path, name: str) -> Book:
    """Read `folder/NAME.jsgf` and everything that it imports, directly or not, from the same folder."""
    root = read(folder / f"{name}.jsgf")
    grammars = {root.name: root}
    todo = [root]
    while todo:
        grammar = todo.pop()
        for wanted in grammar.imports:
            other = grammars.get(wanted.grammar)
            if other is None:
                path = folder / f"{wanted.grammar.rpartition('.')[2]}.jsgf"
                if not path.exists():
                    raise GrammarError(grammar.file, wanted.line, f"there is no {path.name} to import; create it or correct the name")
                other = read(path)
                if other.name != wanted.grammar:
                    raise GrammarError(path.name, 1, f"this grammar is called {other.name}; call it {wanted.grammar}, as {grammar.file} imports it")
                grammars[other.name] = other
                todo.append(other)
            _check_import(grammar, wanted, other)
    return Book(root, grammars)


def _check_import(grammar: Grammar, wanted: Import, other: Grammar) -> None:
    if wanted.rule == "*":
        return
    rule = other.rules.get(wanted.rule)
    if rule is None:
        near = get_close_matches(wanted.rule, other.rules, 1)
        hint = f"did you mean <{wanted.grammar}.{near[0]}>?" if near else f"{other.file} has {', '.join(other.rules) or 'no rules'}"
        raise GrammarError(grammar.file, wanted.line, f"{other.file} has no rule <{wanted.rule}>; {hint}")
    if not rule.public:
        raise GrammarError(grammar.file, wanted.line, f"<{wanted.rule}> is private to {other.file}; write 'public' before it there")
