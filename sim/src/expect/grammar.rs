//! The grammar of expressions: text to a syntax tree in which each word keeps its place.
//!
//! ```text
//! any     = all  { "||" all }
//! all     = one  { "&&" one }
//! one     = "!" one | "(" any ")" | atom
//! atom    = signal [ comparator literal | "in" literal ".." literal | "is" word ]
//! signal  = word { "." word }
//! literal = [ "-" | "+" ] digits [ "." digits ] [ "e" digits ] [ unit ]
//! ```
//!
//! There are no variables and no arithmetic. What the words mean is decided in `resolve`.

use alloc::boxed::Box;
use alloc::string::String;
use alloc::vec::Vec;
use core::ops::Range;

use winnow::Parser;
use winnow::ascii::multispace0;
use winnow::combinator::{alt, opt, peek, preceded, repeat};
use winnow::error::{ErrMode, ParserError};
use winnow::stream::{LocatingSlice, Location, Stream};
use winnow::token::{literal, take_while};

/// How deep brackets and `!` may nest; it bounds the recursion here and in every evaluation.
pub(super) const DEEPEST: usize = 24;

/// What may follow a complete condition.
const JOINS: &[&str] = &["&&", "||", "the end"];
/// What may stand where a condition begins.
const STARTS: &[&str] = &["a signal", "!", "("];
/// What may follow a signal that is not a yes or no.
pub(super) const TESTS: &[&str] = &["<", "<=", ">", ">=", "==", "!=", "in", "is"];

/// A piece of the text and where it stands.
#[derive(Clone, Debug)]
pub(super) struct Token {
    pub(super) text: String,
    pub(super) span: Range<usize>,
}

/// A comparator.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Comparator {
    Less,
    LessOrEqual,
    Greater,
    GreaterOrEqual,
    Equal,
    NotEqual,
}

/// A number as written, with its unit.
#[derive(Clone, Debug)]
pub(super) struct Literal {
    pub(super) digits: Token,
    pub(super) unit: Option<Token>,
}

impl Literal {
    /// The place of the number and its unit together.
    pub(super) fn span(&self) -> Range<usize> {
        let end = self.unit.as_ref().map_or(self.digits.span.end, |unit| unit.span.end);
        self.digits.span.start..end
    }
}

/// What an atom asks of its signal.
#[derive(Clone, Debug)]
pub(super) enum Test {
    Bare,
    Compare(Comparator, Literal),
    /// A comparator with a word behind it: never right, but `resolve` can say what is.
    CompareWord,
    In(Literal, Literal),
    Is(Token),
}

/// The syntax tree.
#[derive(Clone, Debug)]
pub(super) enum Syntax {
    Atom(Token, Test),
    Not(Box<Self>),
    All(Vec<Self>),
    Any(Vec<Self>),
}

/// Where the grammar could not go on, and what it would have taken there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Stop {
    pub(super) at: usize,
    pub(super) accepted: &'static [&'static str],
}

type Input<'a> = LocatingSlice<&'a str>;
type Parsed<T> = Result<T, ErrMode<Stop>>;

impl<'a> ParserError<Input<'a>> for Stop {
    type Inner = Self;

    fn from_input(input: &Input<'a>) -> Self {
        Self { at: input.current_token_start(), accepted: &[] }
    }

    fn into_inner(self) -> Result<Self::Inner, Self> {
        Ok(self)
    }
}

/// Reads a whole expression.
///
/// # Errors
/// The place where reading stopped and what is accepted there.
pub(super) fn read(text: &str) -> Result<Syntax, Stop> {
    if let Some(at) = too_deep(text) {
        return Err(Stop { at, accepted: &["fewer brackets"] });
    }
    let mut input = LocatingSlice::new(text);
    let whole = preceded(multispace0, any)
        .parse_next(&mut input)
        .and_then(|tree| if input.is_empty() { Ok(tree) } else { refuse(&input, JOINS) });
    whole.map_err(|error| match error {
        ErrMode::Backtrack(stop) | ErrMode::Cut(stop) => stop,
        ErrMode::Incomplete(_) => Stop { at: text.len(), accepted: STARTS },
    })
}

/// Reads a number with its unit and nothing else.
///
/// # Errors
/// The place where reading stopped and what is accepted there.
pub(super) fn read_literal(text: &str) -> Result<Literal, Stop> {
    let mut input = LocatingSlice::new(text);
    let whole = preceded(multispace0, number)
        .parse_next(&mut input)
        .and_then(|found| if input.is_empty() { Ok(found) } else { refuse(&input, &["the end"]) });
    whole.map_err(|error| match error {
        ErrMode::Backtrack(stop) | ErrMode::Cut(stop) => stop,
        ErrMode::Incomplete(_) => Stop { at: text.len(), accepted: &["a number with its unit"] },
    })
}

/// Finds where the nesting of brackets and of `!` passes the bound.
fn too_deep(text: &str) -> Option<usize> {
    let mut depth = 0_usize;
    let mut bangs = 0_usize;
    for (at, letter) in text.char_indices() {
        match letter {
            '(' => depth = depth.saturating_add(1),
            ')' => depth = depth.saturating_sub(1),
            '!' => bangs = bangs.saturating_add(1),
            letter if letter.is_alphanumeric() => bangs = 0,
            _ => {}
        }
        if depth > DEEPEST || bangs > DEEPEST {
            return Some(at);
        }
    }
    None
}

/// Ends the reading here: no other way is tried.
fn refuse<T>(input: &Input<'_>, accepted: &'static [&'static str]) -> Parsed<T> {
    Err(ErrMode::Cut(Stop { at: input.current_token_start(), accepted }))
}

fn symbol<'a>(text: &'static str) -> impl Parser<Input<'a>, &'a str, ErrMode<Stop>> {
    (literal(text), multispace0).map(|(symbol, _)| symbol)
}

fn any(input: &mut Input<'_>) -> Parsed<Syntax> {
    let mut parts = alloc::vec![all(input)?];
    while opt(symbol("||")).parse_next(input)?.is_some() {
        parts.push(all(input)?);
    }
    Ok(if parts.len() == 1 { parts.remove(0) } else { Syntax::Any(parts) })
}

fn all(input: &mut Input<'_>) -> Parsed<Syntax> {
    let mut parts = alloc::vec![one(input)?];
    while opt(symbol("&&")).parse_next(input)?.is_some() {
        parts.push(one(input)?);
    }
    Ok(if parts.len() == 1 { parts.remove(0) } else { Syntax::All(parts) })
}

fn one(input: &mut Input<'_>) -> Parsed<Syntax> {
    if opt(symbol("!")).parse_next(input)?.is_some() {
        return Ok(Syntax::Not(Box::new(one(input)?)));
    }
    if opt(symbol("(")).parse_next(input)?.is_some() {
        let inner = any(input)?;
        if opt(symbol(")")).parse_next(input)?.is_none() {
            return refuse(input, &["&&", "||", ")"]);
        }
        return Ok(inner);
    }
    atom(input)
}

fn atom(input: &mut Input<'_>) -> Parsed<Syntax> {
    let Some(signal) = opt(signal).parse_next(input)? else { return refuse(input, STARTS) };
    if let Some(sign) = opt(comparator).parse_next(input)? {
        let test = match opt(word).parse_next(input)? {
            Some(_) => Test::CompareWord,
            None => Test::Compare(sign, number(input)?),
        };
        return Ok(Syntax::Atom(signal, test));
    }
    if peek(opt(alt(("=", "~", "<>")))).parse_next(input)?.is_some() {
        return refuse(input, TESTS);
    }
    let before = input.checkpoint();
    let test = match opt(word).parse_next(input)? {
        None => Test::Bare,
        Some(keyword) if keyword.text == "in" => {
            let low = number(input)?;
            if opt(symbol("..")).parse_next(input)?.is_none() {
                return refuse(input, &[".."]);
            }
            Test::In(low, number(input)?)
        }
        Some(keyword) if keyword.text == "is" => {
            let Some(word) = opt(word).parse_next(input)? else {
                return refuse(input, &["a word"]);
            };
            Test::Is(word)
        }
        Some(_) => {
            input.reset(&before);
            return refuse(input, &["in", "is", "<", "<=", ">", ">=", "==", "!=", "&&", "||"]);
        }
    };
    Ok(Syntax::Atom(signal, test))
}

fn comparator(input: &mut Input<'_>) -> Parsed<Comparator> {
    alt((
        symbol("<=").value(Comparator::LessOrEqual),
        symbol(">=").value(Comparator::GreaterOrEqual),
        symbol("==").value(Comparator::Equal),
        symbol("!=").value(Comparator::NotEqual),
        (literal("<"), peek_not('>')).value(Comparator::Less),
        symbol(">").value(Comparator::Greater),
    ))
    .parse_next(input)
}

/// Passes over blanks where the next letter is another one; `<>` is no comparator here.
fn peek_not<'a>(letter: char) -> impl Parser<Input<'a>, (), ErrMode<Stop>> {
    (peek(winnow::token::none_of([letter])), multispace0).void()
}

/// A plain word: letters, digits, underscores, a letter first.
fn bare_word<'a>(input: &mut Input<'a>) -> Parsed<&'a str> {
    take_while(1.., |c: char| c.is_ascii_alphanumeric() || c == '_')
        .verify(|text: &str| text.starts_with(|c: char| c.is_ascii_alphabetic() || c == '_'))
        .parse_next(input)
}

fn word(input: &mut Input<'_>) -> Parsed<Token> {
    let (text, span) = bare_word.with_span().parse_next(input)?;
    multispace0.parse_next(input)?;
    Ok(Token { text: text.into(), span })
}

fn signal(input: &mut Input<'_>) -> Parsed<Token> {
    let tail = repeat::<_, _, (), _, _>(0.., (literal("."), bare_word));
    let (text, span) = (bare_word, tail).take().with_span().parse_next(input)?;
    multispace0.parse_next(input)?;
    Ok(Token { text: text.into(), span })
}

/// A number with its unit, or a refusal: it is only asked for where nothing else may stand.
fn number(input: &mut Input<'_>) -> Parsed<Literal> {
    let Some((text, span)) = opt(digits.with_span()).parse_next(input)? else {
        return refuse(input, &["a number with its unit"]);
    };
    multispace0.parse_next(input)?;
    let digits = Token { text: text.into(), span };
    let unit = opt(take_while(1.., |c: char| c.is_alphabetic() || c == '%').with_span())
        .parse_next(input)?
        .map(|(text, span): (&str, _)| Token { text: text.into(), span });
    multispace0.parse_next(input)?;
    Ok(Literal { digits, unit })
}

/// The digits of a number; a point belongs to it only with a digit behind, so that `1..2` reads.
fn digits<'a>(input: &mut Input<'a>) -> Parsed<&'a str> {
    let run = || take_while(1.., |c: char| c.is_ascii_digit());
    let sign = || opt(winnow::token::one_of(['+', '-']));
    let fraction = opt((literal("."), run()));
    let exponent = opt((winnow::token::one_of(['e', 'E']), sign(), run()));
    (sign(), run(), fraction, exponent).take().parse_next(input)
}
