//! The grammar of one statement, as chumsky parsers over the tokens of one logical line.
//!
//! The same rules are built for two error types: [`EmptyErr`](chumsky::error::EmptyErr), which costs nothing, for
//! every statement, and [`Missed`], which tells how far a reader gets and what could stand there, for those that
//! fail.

use chumsky::error::Error;
use chumsky::extra::{Full, SimpleState};
use chumsky::input::MapExtra;
use chumsky::label::LabelError;
use chumsky::prelude::*;
use chumsky::util::MaybeRef;
use chumsky::{Boxed, DefaultExpected};
use smallvec::SmallVec;
use smol_str::SmolStr;
use unicode_normalization::{IsNormalized, UnicodeNormalization, is_nfc_quick};

use crate::lexer::{Token, TokenKind as K};
use crate::memo::{Hint, Memo};
use crate::span::RelSpan;
use crate::tree::*;

/// What the parsers read.
pub(super) type Tokens<'a> = &'a [Token];

/// An expression of more operations than this is refused, so that no walk of its tree can run out of stack.
pub(super) const MAX_OPERATIONS: u32 = 500;

/// What the parsers make their output from.
pub(super) struct Source<'a> {
    pub(super) text: &'a str,
    /// Offset of the statement, to which all places are relative.
    pub(super) base: u32,
    /// Operations in the expressions of the statement so far.
    pub(super) operations: u32,
}

impl Source<'_> {
    pub(super) fn rel(&self, token: Token) -> RelSpan {
        RelSpan::new(token.start - self.base, token.end() - self.base)
    }

    fn name(&self, token: Token) -> Name {
        Name { text: normal_form(token.text(self.text)), span: self.rel(token), hint: Hint::default() }
    }

    fn span(&self, tokens: Tokens<'_>) -> RelSpan {
        match (tokens.first(), tokens.last()) {
            (Some(&first), Some(&last)) => self.rel(first).to(self.rel(last)),
            _ => RelSpan::default(),
        }
    }
}

/// Without the room that a growing list keeps in reserve: most lists here hold one or two items for good.
fn fitted<T>(mut list: Vec<T>) -> Vec<T> {
    list.shrink_to_fit();
    list
}

/// Unicode normal form C, in which names are compared.
pub(super) fn normal_form(text: &str) -> SmolStr {
    if text.is_ascii() || is_nfc_quick(text.chars()) == IsNormalized::Yes {
        SmolStr::new(text)
    } else {
        text.nfc().collect()
    }
}

/// An error type that the parsers can be built for.
pub(super) trait Failure<'a>: Error<'a, Tokens<'a>> + LabelError<'a, Tokens<'a>, &'static str> + 'a {}

impl<'a, E> Failure<'a> for E where E: Error<'a, Tokens<'a>> + LabelError<'a, Tokens<'a>, &'static str> + 'a {}

pub(super) type Extra<'a, E> = Full<E, SimpleState<Source<'a>>, ()>;
type Rule<'a, T, E> = Boxed<'a, 'a, Tokens<'a>, T, Extra<'a, E>>;

/// How far a reader gets in a statement that does not follow the grammar.
#[derive(Clone, Debug)]
pub(super) struct Missed {
    /// Index of the first token that cannot stand where it stands; the number of tokens when something is missing.
    pub(super) at: usize,
    /// What could have stood there.
    pub(super) expected: SmallVec<[&'static str; 4]>,
}

impl Missed {
    /// When nobody knows how far.
    pub(super) fn nowhere() -> Self {
        Missed { at: 0, expected: SmallVec::new() }
    }
}

/// Stands in [`Missed::expected`] for the end of the statement.
pub(super) const THE_END: &str = "the end of the line";

impl<'a> Error<'a, Tokens<'a>> for Missed {
    fn merge(mut self, other: Self) -> Self {
        for label in other.expected {
            if !self.expected.contains(&label) {
                self.expected.push(label);
            }
        }
        self
    }
}

impl<'a> LabelError<'a, Tokens<'a>, DefaultExpected<'a, Token>> for Missed {
    fn expected_found<I: IntoIterator<Item = DefaultExpected<'a, Token>>>(
        expected: I,
        _: Option<MaybeRef<'a, Token>>,
        span: SimpleSpan,
    ) -> Self {
        let ends = expected.into_iter().any(|what| matches!(what, DefaultExpected::EndOfInput));
        Missed { at: span.start, expected: ends.then_some(THE_END).into_iter().collect() }
    }
}

impl<'a> LabelError<'a, Tokens<'a>, &'static str> for Missed {
    fn expected_found<I: IntoIterator<Item = &'static str>>(
        expected: I,
        _: Option<MaybeRef<'a, Token>>,
        span: SimpleSpan,
    ) -> Self {
        Missed { at: span.start, expected: expected.into_iter().collect() }
    }

    fn label_with(&mut self, label: &'static str) {
        self.expected.clear();
        self.expected.push(label);
    }
}

/// The rules of all statements.
pub(super) struct Grammar<'a, E: Failure<'a>> {
    circuit: Rule<'a, StmtKind, E>,
    include: Rule<'a, StmtKind, E>,
    definition: Rule<'a, StmtKind, E>,
    declare: Rule<'a, StmtKind, E>,
    path: Rule<'a, StmtKind, E>,
    reference: Rule<'a, StmtKind, E>,
    find: Rule<'a, StmtKind, E>,
    given: Rule<'a, StmtKind, E>,
    measured: Rule<'a, StmtKind, E>,
    claim: Rule<'a, StmtKind, E>,
    case: Rule<'a, StmtKind, E>,
    part: Rule<'a, StmtKind, E>,
    repeat: Rule<'a, StmtKind, E>,
    end: Rule<'a, StmtKind, E>,
}

/// What the first tokens of a statement make of it; the kinds of names play no part.
pub(super) fn is_declaration(tokens: Tokens<'_>) -> bool {
    let Some(first) = tokens.first() else { return false };
    first.kind == K::Kind || (first.kind.is_name() && tokens.get(1).is_some_and(|second| second.kind.is_word()))
}

fn token<'a, E: Failure<'a>>(kind: K) -> impl Parser<'a, Tokens<'a>, Token, Extra<'a, E>> + Copy {
    any().filter(move |token: &Token| token.kind == kind)
}

/// A token, named in messages by its text.
fn mark<'a, E: Failure<'a>>(kind: K, text: &'static str) -> impl Parser<'a, Tokens<'a>, Token, Extra<'a, E>> + Copy {
    token(kind).labelled(text)
}

fn name_if<'a, E: Failure<'a>>(
    fits: impl Fn(Token) -> bool + Copy + 'a,
) -> impl Parser<'a, Tokens<'a>, Name, Extra<'a, E>> + Copy {
    any()
        .filter(move |token: &Token| fits(*token))
        .map_with(|token: Token, extra: &mut MapExtra<'a, '_, Tokens<'a>, Extra<'a, E>>| extra.state().name(token))
}

/// A name that an element may have.
fn name<'a, E: Failure<'a>>() -> impl Parser<'a, Tokens<'a>, Name, Extra<'a, E>> + Copy {
    name_if(|token| token.kind.is_name()).labelled("a name")
}

/// Any word, reserved or not.
fn word<'a, E: Failure<'a>>() -> impl Parser<'a, Tokens<'a>, Name, Extra<'a, E>> + Copy {
    name_if(|token| token.kind.is_word()).labelled("a name")
}

/// The unit behind a number or a bracket.
fn unit<'a, E: Failure<'a>>() -> impl Parser<'a, Tokens<'a>, Name, Extra<'a, E>> + Copy {
    name_if(|token| token.kind == K::Percent || (token.kind.is_word() && !token.kind.is_after_number()))
        .labelled("a unit")
}

/// A name and what follows its dots, given what the name before the first dot may be.
fn dotted<'a, E: Failure<'a>>(
    first: impl Parser<'a, Tokens<'a>, Name, Extra<'a, E>> + Copy + 'a,
) -> impl Parser<'a, Tokens<'a>, Ref, Extra<'a, E>> + Copy {
    first.then(token(K::Dot).ignore_then(word()).repeated().collect::<SmallVec<[Name; 1]>>()).map(
        |(first, rest): (Name, SmallVec<[Name; 1]>)| {
            let mut span = first.span;
            let mut parts = SmallVec::new();
            parts.push(first);
            for name in rest {
                span = span.to(name.span);
                parts.push(name);
            }
            Ref { parts, span }
        },
    )
}

fn reference<'a, E: Failure<'a>>() -> impl Parser<'a, Tokens<'a>, Ref, Extra<'a, E>> + Copy {
    dotted(name_if(|token| token.kind.is_name()).labelled("an element"))
}

/// A `+` or `-` that touches what stands before it.
fn sign_behind<'a, E: Failure<'a>>() -> impl Parser<'a, Tokens<'a>, Sign, Extra<'a, E>> + Copy {
    any().filter(|token: &Token| token.joined && is_sign(*token)).map(sign_of).labelled("a sign")
}

fn is_sign(token: Token) -> bool {
    matches!(token.kind, K::Plus | K::Minus)
}

fn sign_of(token: Token) -> Sign {
    if token.kind == K::Plus { Sign::Plus } else { Sign::Minus }
}

fn text<'a, E: Failure<'a>>() -> impl Parser<'a, Tokens<'a>, Text, Extra<'a, E>> + Copy {
    token(K::Text)
        .map_with(|token: Token, extra: &mut MapExtra<'a, '_, Tokens<'a>, Extra<'a, E>>| {
            let source = extra.state();
            let quoted = token.text(source.text);
            let inner = quoted.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).unwrap_or(quoted);
            Text { text: SmolStr::new(inner), span: source.rel(token) }
        })
        .labelled("a text in quotes")
}

fn junction<'a, E: Failure<'a>>() -> impl Parser<'a, Tokens<'a>, Name, Extra<'a, E>> + Copy {
    token(K::Junction)
        .map_with(|token: Token, extra: &mut MapExtra<'a, '_, Tokens<'a>, Extra<'a, E>>| {
            let source = extra.state();
            let written = token.text(source.text);
            Name {
                text: normal_form(written.strip_prefix('@').unwrap_or(written)),
                span: source.rel(token),
                hint: Hint::default(),
            }
        })
        .labelled("a junction")
}

fn point<'a, E: Failure<'a>>() -> impl Parser<'a, Tokens<'a>, Point, Extra<'a, E>> + Copy {
    choice((
        junction().map(Point::Junction),
        reference().then(sign_behind().or_not()).map_with(
            |(target, sign), extra: &mut MapExtra<'a, '_, Tokens<'a>, Extra<'a, E>>| {
                let tokens = extra.slice();
                Point::Terminal { target, sign, span: extra.state().span(tokens) }
            },
        ),
    ))
    .labelled("a junction or a terminal")
}

fn binary<'a, E: Failure<'a>>(
    left: Expr,
    (op, right): (BinaryOp, Expr),
    extra: &mut MapExtra<'a, '_, Tokens<'a>, Extra<'a, E>>,
) -> Expr {
    let source = extra.state();
    source.operations += 1;
    if source.operations > MAX_OPERATIONS {
        // The statement is refused as a whole; growing the tree further would only risk the stack.
        return left;
    }
    let span = left.span.to(right.span);
    Expr { kind: ExprKind::Binary { op, left: Box::new(left), right: Box::new(right) }, span }
}

fn expression<'a, E: Failure<'a>>() -> Rule<'a, Expr, E> {
    recursive(|expr| {
        let number = token(K::Number).labelled("a number").then(unit().or_not()).map_with(
            |(token, unit): (Token, Option<Name>), extra: &mut MapExtra<'a, '_, Tokens<'a>, Extra<'a, E>>| {
                let source = extra.state();
                let written = token.text(source.text);
                let text = if written.is_ascii() {
                    SmolStr::new(written)
                } else {
                    normal_form(&written.replace('\u{2212}', "-"))
                };
                let own = source.rel(token);
                let span = unit.as_ref().map_or(own, |unit| own.to(unit.span));
                Expr { kind: ExprKind::Number { text, unit }, span }
            },
        );
        let named = dotted(word()).map(|reference| Expr { span: reference.span, kind: ExprKind::Ref(reference) });
        let group = expr.delimited_by(mark(K::Open, "`(`"), mark(K::Close, "`)`")).then(unit().or_not()).map_with(
            |(inner, unit): (Expr, Option<Name>), extra: &mut MapExtra<'a, '_, Tokens<'a>, Extra<'a, E>>| {
                let tokens = extra.slice();
                let span = extra.state().span(tokens);
                Expr { kind: ExprKind::Group { inner: Box::new(inner), unit }, span }
            },
        );
        let factor = token(K::Minus).repeated().foldr_with(
            choice((number, named, group)).labelled("a value"),
            |minus: Token, inner: Expr, extra: &mut MapExtra<'a, '_, Tokens<'a>, Extra<'a, E>>| {
                let source = extra.state();
                source.operations += 1;
                if source.operations > MAX_OPERATIONS {
                    return inner;
                }
                let span = source.rel(minus).to(inner.span);
                Expr { kind: ExprKind::Neg(Box::new(inner)), span }
            },
        );
        let factor = factor.labelled("a value").boxed();
        let times = choice((token(K::Star).to(BinaryOp::Mul), token(K::Slash).to(BinaryOp::Div)));
        let term = factor.clone().foldl_with(times.then(factor).repeated(), binary).boxed();
        let plus = choice((token(K::Plus).to(BinaryOp::Add), token(K::Minus).to(BinaryOp::Sub)));
        term.clone().foldl_with(plus.then(term).repeated(), binary)
    })
    .boxed()
}

fn values<'a, E: Failure<'a>>(expr: Rule<'a, Expr, E>) -> Rule<'a, Value, E> {
    let unknown = token(K::Question).then(unit().or_not()).map_with(
        |(token, unit), extra: &mut MapExtra<'a, '_, Tokens<'a>, Extra<'a, E>>| ValueMain::Unknown {
            span: extra.state().rel(token),
            unit,
        },
    );
    choice((expr.clone().map(ValueMain::Expr), unknown))
        .then(token(K::At).labelled("`at`").ignore_then(expr).or_not())
        .map_with(|(main, at), extra: &mut MapExtra<'a, '_, Tokens<'a>, Extra<'a, E>>| {
            let tokens = extra.slice();
            Value { main, at, span: extra.state().span(tokens) }
        })
        .labelled("a value")
        .boxed()
}

fn segment<'a, E: Failure<'a>>() -> Rule<'a, Segment, E> {
    recursive(|segment| items(segment, 1)).boxed()
}

/// Items joined by wires.
fn items<'a, E: Failure<'a>>(
    segment: impl Parser<'a, Tokens<'a>, Segment, Extra<'a, E>> + Clone + 'a,
    at_least: usize,
) -> impl Parser<'a, Tokens<'a>, Segment, Extra<'a, E>> + Clone {
    let wire = any().filter(|token: &Token| matches!(token.kind, K::Wire | K::WireRun)).labelled("a wire `--`");
    let touching = dotted(name_if(|token| token.kind.is_name() && token.joined).labelled("an element"));
    let element =
        choice((
            reference().then(sign_behind().or_not()).map(|(target, after)| ItemKind::Element {
                before: None,
                target,
                after,
            }),
            any().filter(|token: &Token| is_sign(*token)).map(sign_of).then(touching).then(sign_behind()).map(
                |((before, target), after)| ItemKind::Element { before: Some(before), target, after: Some(after) },
            ),
        ));
    let group = segment
        .separated_by(mark(K::Bar, "`|`"))
        .at_least(2)
        .collect::<Vec<_>>()
        .delimited_by(token(K::Open), mark(K::Close, "`)`"))
        .map(ItemKind::Group);
    let item = choice((element, junction().map(ItemKind::Junction), group))
        .map_with(|kind, extra: &mut MapExtra<'a, '_, Tokens<'a>, Extra<'a, E>>| {
            let tokens = extra.slice();
            Item { kind, span: extra.state().span(tokens) }
        })
        .labelled("an element, a junction or `(`");
    item.separated_by(wire).at_least(at_least).collect::<Vec<_>>().map(|items: Vec<Item>| {
        let items = fitted(items);
        let span = match (items.first(), items.last()) {
            (Some(first), Some(last)) => first.span.to(last.span),
            _ => RelSpan::default(),
        };
        Segment { items, span }
    })
}

fn quantity<'a, E: Failure<'a>>(expr: Rule<'a, Expr, E>) -> Rule<'a, Box<Quantity>, E> {
    let refs = || reference().separated_by(mark(K::Comma, "`,`")).at_least(1).collect::<Vec<_>>().map(fitted);
    let of = || mark(K::Of, "`of`").ignore_then(refs());
    let pair = |first: Rule<'a, Token, E>, second: Rule<'a, Token, E>| {
        first.ignore_then(point()).then_ignore(second).then(point())
    };
    let between = || pair(mark(K::Between, "`between`").boxed(), mark(K::And, "`and`").boxed());
    let kind = choice((
        token(K::Current).ignore_then(choice((
            mark(K::Through, "`through`").ignore_then(refs()).map(QuantityKind::CurrentThrough),
            mark(K::Into, "`into`").ignore_then(point()).map(QuantityKind::CurrentInto),
        ))),
        token(K::Voltage).ignore_then(choice((
            mark(K::Across, "`across`").ignore_then(refs()).map(QuantityKind::VoltageAcross),
            pair(mark(K::From, "`from`").boxed(), mark(K::To, "`to`").boxed())
                .map(|(from, to)| QuantityKind::VoltageFrom(from, to)),
        ))),
        token(K::Potential).ignore_then(mark(K::At, "`at`")).ignore_then(point()).map(QuantityKind::PotentialAt),
        token(K::Resistance).ignore_then(choice((
            between().map(|(one, other)| QuantityKind::ResistanceBetween(one, other)),
            mark(K::Seen, "`seen by`")
                .ignore_then(mark(K::By, "`by`"))
                .ignore_then(reference())
                .map(QuantityKind::ResistanceSeenBy),
        ))),
        token(K::Capacitance).ignore_then(between()).map(|(one, other)| QuantityKind::CapacitanceBetween(one, other)),
        token(K::Power).ignore_then(of()).map(QuantityKind::PowerOf),
        token(K::Charge).ignore_then(of()).map(QuantityKind::ChargeOf),
        token(K::Energy).ignore_then(of()).map(QuantityKind::EnergyOf),
        token(K::Value).ignore_then(of()).map(QuantityKind::ValueOf),
    ))
    .labelled("a quantity");
    kind.then(mark(K::After, "`after`").ignore_then(expr).or_not())
        .map_with(|(kind, after), extra: &mut MapExtra<'a, '_, Tokens<'a>, Extra<'a, E>>| {
            let tokens = extra.slice();
            Box::new(Quantity { kind, after, span: extra.state().span(tokens) })
        })
        .boxed()
}

impl<'a, E: Failure<'a>> Grammar<'a, E> {
    /// Builds the parsers; done once for many statements.
    pub(super) fn new() -> Self {
        let expr = expression::<E>();
        let value = values(expr.clone());
        let segment = segment::<E>();
        let quantity = quantity(expr.clone());
        let comma = || mark::<E>(K::Comma, "`,`");
        let equals = || mark::<E>(K::Equals, "`=`");

        let option =
            comma().ignore_then(word()).then(value.clone()).map(|(name, value)| OptionItem { name, value }).boxed();
        let options = option.repeated().collect::<Vec<_>>().map(fitted).boxed();
        // `, NAME` is one more name when a comma, `=` or the end follows; else it begins an option.
        let names_go_on = choice((token::<E>(K::Comma).ignored(), token(K::Equals).ignored(), end())).rewind();
        let names = name::<E>()
            .then(comma().ignore_then(name()).then_ignore(names_go_on).repeated().collect::<SmallVec<[Name; 1]>>())
            .map(|(first, rest): (Name, SmallVec<[Name; 1]>)| {
                let mut names = SmallVec::with_capacity(1 + rest.len());
                names.push(first);
                names.extend(rest);
                names
            });
        let declare = name_if::<E>(|token| token.kind.is_name() || token.kind == K::Kind)
            .labelled("a kind")
            .then(names)
            .then(equals().ignore_then(value.clone()).or_not())
            .then(options.clone())
            .map(|(((kind, names), value), options)| {
                StmtKind::Declare(Declare { kind, names, value, options, memo: Memo::default() })
            })
            .boxed();

        let in_case = mark::<E>(K::In, "`in`").ignore_then(text()).or_not().boxed();
        let within = mark::<E>(K::Within, "`within`").ignore_then(expr.clone()).or_not().boxed();
        let stated = quantity.clone().then_ignore(equals()).then(expr.clone()).boxed();

        let branch = choice((
            reference::<E>().map(|element| (vec![element], ())),
            reference()
                .separated_by(comma())
                .at_least(2)
                .collect::<Vec<_>>()
                .delimited_by(mark(K::Open, "`(`"), mark(K::Close, "`)`"))
                .map(|elements| (elements, ())),
        ))
        .map_with(|(elements, ()), extra: &mut MapExtra<'a, '_, Tokens<'a>, Extra<'a, E>>| {
            let tokens = extra.slice();
            Branch { elements, span: extra.state().span(tokens) }
        });
        let relation = choice((token::<E>(K::Series).to(Relation::Series), token(K::Parallel).to(Relation::Parallel)))
            .labelled("`series` or `parallel`");
        let claim =
            token::<E>(K::Claim).ignore_then(choice((
                stated.clone().then(within.clone()).then(in_case.clone()).map(|(((quantity, value), within), case)| {
                    StmtKind::ClaimQuantity { quantity, value, within, case }
                }),
                branch
                    .separated_by(comma())
                    .at_least(1)
                    .collect::<Vec<_>>()
                    .then_ignore(mark(K::In, "`in`"))
                    .then(relation)
                    .then(in_case.clone())
                    .map(|((branches, relation), case)| StmtKind::ClaimRelation { branches, relation, case }),
            )));

        let assign = dotted(word::<E>())
            .then_ignore(equals())
            .then(value.clone())
            .map(|(target, value)| Assign { target, value });

        Self {
            circuit: token(K::Circuit).ignore_then(text()).map(StmtKind::Circuit).boxed(),
            include: token(K::Include).ignore_then(text()).map(StmtKind::Include).boxed(),
            definition: token(K::Let)
                .ignore_then(word())
                .then_ignore(equals())
                .then(value.clone())
                .map(|(name, value)| StmtKind::Let { name, value })
                .boxed(),
            declare,
            path: items(segment, 2).map(StmtKind::Path).boxed(),
            reference: token(K::Reference).ignore_then(point()).map(StmtKind::Reference).boxed(),
            find: token(K::Find)
                .ignore_then(quantity)
                .then(in_case.clone())
                .map(|(quantity, case)| StmtKind::Find { quantity, case })
                .boxed(),
            given: token(K::Given)
                .ignore_then(stated.clone())
                .then(in_case.clone())
                .map(|((quantity, value), case)| StmtKind::Given { quantity, value, case })
                .boxed(),
            measured: token(K::Measured)
                .ignore_then(stated)
                .then(within)
                .then(in_case)
                .map(|(((quantity, value), within), case)| StmtKind::Measured { quantity, value, within, case })
                .boxed(),
            claim: claim.boxed(),
            case: token(K::Case)
                .ignore_then(text())
                .then_ignore(mark(K::Colon, "`:`"))
                .then(assign.separated_by(comma()).at_least(1).collect())
                .map(|(name, assigns)| StmtKind::Case { name, assigns })
                .boxed(),
            part: token(K::Part)
                .ignore_then(name())
                .then(
                    word()
                        .separated_by(comma())
                        .at_least(1)
                        .collect()
                        .delimited_by(mark(K::Open, "`(`"), mark(K::Close, "`)`")),
                )
                .then(options)
                .map(|((name, ports), parameters)| StmtKind::Part { name, ports, parameters })
                .boxed(),
            repeat: token(K::Repeat)
                .ignore_then(name())
                .then_ignore(mark(K::From, "`from`"))
                .then(expr.clone())
                .then_ignore(mark(K::To, "`to`"))
                .then(expr)
                .map(|((variable, from), to)| StmtKind::Repeat { variable, from, to })
                .boxed(),
            end: token(K::End).to(StmtKind::End).boxed(),
        }
    }

    /// The rule that a statement must follow.
    pub(super) fn rule(&self, tokens: Tokens<'a>) -> &Rule<'a, StmtKind, E> {
        let Some(first) = tokens.first() else { return &self.path };
        match first.kind {
            K::Circuit => &self.circuit,
            K::Include => &self.include,
            K::Let => &self.definition,
            K::Reference => &self.reference,
            K::Claim => &self.claim,
            K::Find => &self.find,
            K::Given => &self.given,
            K::Measured => &self.measured,
            K::Case => &self.case,
            K::Part => &self.part,
            K::Repeat => &self.repeat,
            K::End => &self.end,
            _ if is_declaration(tokens) => &self.declare,
            _ => &self.path,
        }
    }
}
