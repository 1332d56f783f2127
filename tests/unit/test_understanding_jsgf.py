"""The reader of grammar files: the format as its note describes it, mistakes said in one sentence, and agreement with a second reader."""

from __future__ import annotations

import warnings
from pathlib import Path

import pytest

from assistant.understanding import jsgf
from assistant.understanding.automaton import Automaton
from assistant.understanding.interpreter import grammar_folder
from assistant.understanding.jsgf import Alternatives, GrammarError, Maybe, Ref, Repeat, Sequence, Tagged, Token

HEADER = "#JSGF V1.0 UTF-8 en; grammar t; "


def body(expansion: str) -> jsgf.Expansion:
    """The tree of one expansion."""
    return jsgf.parse(f"{HEADER}public <s> = {expansion};").rules["s"].body


def accepts(expansion: str, sentence: str, more: str = "") -> bool:
    """Whether a grammar of one rule (and `more` rules) has the sentence."""
    grammar = jsgf.parse(f"{HEADER}public <s> = {expansion}; {more}")
    return Automaton(jsgf.Book(grammar, {grammar.name: grammar}), "s").complete(sentence.split())


@pytest.mark.parametrize(
    ("expansion", "tree"),
    [
        ("small", Token("small")),
        ('"New  York City"', Token("New York City")),
        (r"\[sic\]", Token("[sic]")),
        ("don't", Token("don't")),
        ("<NULL>", Ref("NULL")),
        ("a b", Sequence((Token("a"), Token("b")))),
        ("a | b c", Alternatives((Token("a"), Sequence((Token("b"), Token("c")))))),
        ("/10/ small | /2.5/ large", Alternatives((Token("small"), Token("large")), (10.0, 2.5))),
        ("[a | b]", Maybe(Alternatives((Token("a"), Token("b"))))),
        ("a+ b*", Sequence((Repeat(Token("a"), 1), Repeat(Token("b"), 0)))),
        ("a b {t}", Sequence((Token("a"), Tagged(Token("b"), ("t",))))),
        ("(a b) {t} {u}", Tagged(Sequence((Token("a"), Token("b"))), ("t", "u"))),
        ("a* {t}", Tagged(Repeat(Token("a"), 0), ("t",))),
        (r"a {x \} y}", Tagged(Token("a"), ("x } y",))),
    ],
)
def test_precedence_of_the_note(expansion: str, tree: jsgf.Expansion) -> None:
    """Operators and tags bind to the entity just before, then sequences, then alternatives (the note's precedence rules, from memory)."""
    assert body(expansion) == tree


POLITE = """#JSGF V1.0;
/** Window commands. @example open the window */
grammar commands;
// the note's "simple command and control" grammar
public <basicCmd> = <startPolite> <command> <endPolite>;
<command> = <action> <object>;
<action> = /10/ open |/2/ close |/1/ delete |/1/ move;
<object> = [the | a] (window | file | menu);
<startPolite> = (please | kindly | could you | oh mighty computer) *;
<endPolite> = [ please | thanks | thank you ];
"""


@pytest.mark.parametrize(
    ("sentence", "is_in"),
    [
        ("open a file", True),
        ("please could you kindly open a window thank you", True),
        ("oh mighty computer please open a menu", True),
        ("move window", True),
        ("open", False),
        ("oh computer open a file", False),
        ("open the window please thanks", False),
        ("", False),
    ],
)
def test_command_grammar_of_the_note(sentence: str, is_in: bool) -> None:
    """The second example grammar of the W3C note of 5 June 2000, as the documentation of sphinx4 reprints it, accepts what it should."""
    grammar = jsgf.parse(POLITE)
    assert Automaton(jsgf.Book(grammar, {"commands": grammar}), "basicCmd").complete(sentence.split()) is is_in


def test_header_names_encoding_and_locale() -> None:
    """Encoding and locale are optional, in this order."""
    full, bare = jsgf.parse("#JSGF V1.0 ISO8859-5 en;\ngrammar a.b.c;\n<x> = y;"), jsgf.parse("#JSGF V1.0; grammar g; <x> = y;")
    assert (full.encoding, full.locale, full.name) == ("ISO8859-5", "en", "a.b.c")
    assert (bare.encoding, bare.locale) == ("", "")


def test_encoding_of_the_header_decodes_the_file(tmp_path: Path) -> None:
    """A Latin-1 file with its encoding in the header is read rightly; called UTF-8 it is refused with line and way out."""
    rules = "grammar g;\npublic <s> = crème;"
    good, bad = tmp_path / "good.jsgf", tmp_path / "bad.jsgf"
    good.write_bytes(f"#JSGF V1.0 ISO-8859-1 fr;\n{rules}".encode("latin-1"))
    bad.write_bytes(f"#JSGF V1.0 UTF-8 fr;\n{rules}".encode("latin-1"))
    assert jsgf.read(good).rules["s"].body == Token("crème")
    with pytest.raises(GrammarError, match=r"bad\.jsgf, line 3: .*save the file as UTF-8"):
        jsgf.read(bad)


def test_documentation_comments_are_kept() -> None:
    """A documentation comment belongs to the rule after it, with its examples; other comments vanish."""
    text = "#JSGF V1.0; grammar g; /* not this */ /** Sizes.\n * @example small\n * @example very large */ public <x> = small; <y> = a; // end"
    rules = jsgf.parse(text).rules
    assert rules["x"].doc.startswith("Sizes.")
    assert rules["x"].examples == ("small", "very large")
    assert rules["y"].doc == ""


def test_special_rules() -> None:
    """<NULL> is matched by saying nothing, <VOID> by nothing that can be said."""
    assert accepts("<NULL> chips", "chips")
    assert accepts("chips [<VOID>]", "chips")
    assert accepts("chips | fish <VOID>", "chips")
    assert not accepts("chips | fish <VOID>", "fish")


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("grammar g; <x> = y;", 1, "header"),
        ("#JSGF V2.0; grammar g; <x> = y;", 1, "version 2.0"),
        ("#JSGF V1.0;\n<x> = y;", 2, "grammar NAME"),
        ("#JSGF V1.0;\ngrammar 9;\n<x> = y;", 2, "letters"),
        ("#JSGF V1.0;\ngrammar g;\nimport <x>;", 3, "import <grammar.rule>"),
        ("#JSGF V1.0;\ngrammar g;\n<x> = y\n<z> = w;", 4, "expected ;"),
        ("#JSGF V1.0;\ngrammar g;\n\n<x> = (y;", 4, "put the ) there"),
        ("#JSGF V1.0;\ngrammar g;\n<x> = a | ;", 3, "<NULL>"),
        ("#JSGF V1.0;\ngrammar g;\n<x> = * a;", 3, "nothing before it"),
        ("#JSGF V1.0;\ngrammar g;\n<x> = {t} a;", 3, "nothing before it"),
        ("#JSGF V1.0;\ngrammar g;\n<x> = /2/ a | b;", 3, "weight"),
        ("#JSGF V1.0;\ngrammar g;\n<x> = /0/ a | /0/ b;", 3, "zero"),
        ("#JSGF V1.0;\ngrammar g;\n<x> = /-1/ a | /2/ b;", 3, "negative"),
        ("#JSGF V1.0;\ngrammar g;\n<x> = a /2/ b;", 3, "leads an alternative"),
        ("#JSGF V1.0;\ngrammar g;\n<x> = a*+;", 3, "group it"),
        ("#JSGF V1.0;\ngrammar g;\n<x> = a;\n<x> = b;", 4, "twice"),
        ("#JSGF V1.0;\ngrammar g;\n<NULL> = a;", 3, "fixed meaning"),
        ("#JSGF V1.0;\ngrammar g;\n<x> = 'a {t;", 3, "never closed"),
        ('#JSGF V1.0;\ngrammar g;\n<x> = "a;', 3, "never closed"),
        ("#JSGF V1.0;\ngrammar g;\n/* a\nb", 3, "never closed"),
        ("#JSGF V1.0;\ngrammar g;\npublic x = a;", 3, "expected a rule"),
    ],
)
def test_mistakes_are_said_with_file_line_and_way_out(text: str, line: int, words: str) -> None:
    """Every mistake of a grammar's author is one sentence that begins with file and line."""
    with pytest.raises(GrammarError) as caught:
        jsgf.parse(text, "mine.jsgf")
    assert str(caught.value).startswith(f"mine.jsgf, line {line}: ")
    assert words in str(caught.value)
    assert "\n" not in str(caught.value).removeprefix(f"mine.jsgf, line {line}: ").replace("\\n", "")


def folder_of(tmp_path: Path, **files: str) -> Path:
    """A folder with grammar files."""
    for name, text in files.items():
        (tmp_path / f"{name}.jsgf").write_text(f"#JSGF V1.0 UTF-8 en;\n{text}", "utf-8")
    return tmp_path


def test_imports_bring_public_rules_of_the_folder(tmp_path: Path) -> None:
    """Imported rules answer to their simple and to their full name."""
    folder = folder_of(
        tmp_path,
        main="grammar main;\nimport <food.dish>;\nimport <com.kitchen.verbs.*>;\npublic <s> = <dish> <down> | <verbs.out>;",
        food="grammar food;\npublic <dish> = chips | <secret>;\n<secret> = fish;",
        verbs="grammar com.kitchen.verbs;\npublic <down> = down;\npublic <out> = lifting;",
    )
    automaton = Automaton(jsgf.load(folder, "main"), "s")
    assert sorted(automaton.sentences(9)) == ["chips down", "fish down", "lifting"]


@pytest.mark.parametrize(
    ("main", "food", "words"),
    [
        ("import <fodo.dish>;\npublic <s> = <dish>;", "grammar food;\npublic <dish> = a;", "main.jsgf, line 3: there is no fodo.jsgf"),
        ("import <food.dihs>;\npublic <s> = <dihs>;", "grammar food;\npublic <dish> = a;", "did you mean <food.dish>?"),
        ("import <food.dish>;\npublic <s> = <dish>;", "grammar food;\n<dish> = a;", "<dish> is private to food.jsgf"),
        ("import <food.dish>;\npublic <s> = <dish>;", "grammar meat;\npublic <dish> = a;", "called meat"),
        (
            "import <food.*>;\npublic <s> = <dihs>;",
            "grammar food;\npublic <dish> = a;",
            "main.jsgf, line 4: <dihs> is not defined; did you mean <dish>?",
        ),
        ("public <s> = a <t>;\n<t> = b [<s>];", "", "<s> -> <t> -> <s> goes round in a circle"),
    ],
)
def test_mistakes_between_files(tmp_path: Path, main: str, food: str, words: str) -> None:
    """Names that lead nowhere are said with the nearest name there is; recursion is refused."""
    folder = folder_of(tmp_path, main=f"grammar main;\n{main}", food=food)
    with pytest.raises(GrammarError) as caught:
        Automaton(jsgf.load(folder, "main"), "s")
    assert words in str(caught.value)


def test_a_missing_file_is_one_sentence(tmp_path: Path) -> None:
    """A grammar file that is not there is the author's fault, said plainly."""
    with pytest.raises(GrammarError, match=r"none\.jsgf, line 1: the file cannot be read \(No such file"):
        jsgf.load(tmp_path, "none")


TOLD_APART = [
    ("[the] (chips | fish) down", ["chips down", "the fish down", "the down", "down", "chips", "chips fish down"]),
    ("very+ hot", ["very hot", "very very hot", "hot", "very"]),
    ("(please | kindly)* open [a] file", ["open file", "please open a file", "please kindly please open file", "open a", "kindly"]),
    ("a [b [c]] d", ["a d", "a b d", "a b c d", "a c d", "a b c"]),
    ("/3/ a b | /1/ c", ["a b", "c", "a", "a b c"]),
    ("<NULL> a", ["a", "a a"]),
    ("a | b <VOID>", ["a", "b"]),
    ("<n> minutes [and <n> seconds]", ["two minutes", "two minutes and one seconds", "two minutes and", "minutes"]),
    ("a {tag} b | c {other}", ["a b", "c", "a", "tag"]),
    ("what's next | don't", ["what's next", "don't", "what's", "whats next"]),
]


@pytest.mark.parametrize(("expansion", "sentences"), TOLD_APART)
def test_a_second_reader_agrees(expansion: str, sentences: list[str]) -> None:
    """pyjsgf, an independent reader of the format, accepts and refuses the same sentences."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pyjsgf uses names that pyparsing has since deprecated
        import jsgf as pyjsgf

        theirs = pyjsgf.parse_grammar_string(f"{HEADER}public <s> = {expansion}; <n> = one | two;")
        for sentence in sentences:
            assert bool(theirs.find_matching_rules(sentence)) is accepts(expansion, sentence, "<n> = one | two;"), sentence


@pytest.mark.parametrize("language", ["en", "ko"])
def test_our_grammars_are_read_whole(language: str) -> None:
    """Every file in the folder of a language is reached from its root, so that no file lies there unused."""
    folder = grammar_folder(language)
    assert {g.file for g in jsgf.load(folder, "kitchen").grammars.values()} == {path.name for path in folder.glob("*.jsgf")}
