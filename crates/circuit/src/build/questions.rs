//! What is asked, claimed, given and measured, with names resolved.

use malachite::Rational;
use ohmline_syntax::tree::{
    Branch, Expr, ExprKind, Name, Point, Quantity as Asked, QuantityKind, Ref, Relation, Stmt, StmtKind, Text,
};
use ohmline_syntax::{FileId, FileSpan, Safety};

use super::eval::capitalized;
use super::report::diagnostic;
use super::resolve::Target;
use super::scope::{EnvId, ScopeId};
use super::{Builder, Site, rules};
use crate::model::{Ask, Claim, ElementId, Kind, NodeId, Quantity, Reading, Stated, Unit, Within};
use crate::quantity::{Dimension, read_literal};

/// A point of the drawing as a statement names it.
struct Place {
    node: NodeId,
    /// The terminal, where it is one of an element.
    terminal: Option<(ElementId, u8)>,
    /// The copy of a part, where it is a port of one.
    instance: Option<u32>,
    text: String,
}

impl<'a> Builder<'a> {
    /// Resolves every statement about the circuit.
    pub(super) fn ask(&mut self) {
        let tree = &self.sources.files[0].tree;
        for index in std::mem::take(&mut self.statements) {
            self.ask_one(&tree.stmts[index as usize]);
        }
        self.circuit.asked_nodes.sort_unstable();
        self.circuit.asked_nodes.dedup();
        self.check_references();
    }

    fn ask_one(&mut self, stmt: &'a Stmt) {
        let site = Site { file: FileId::MAIN, offset: stmt.offset, scope: ScopeId(0), env: EnvId::NONE };
        let whole = FileSpan::new(FileId::MAIN, stmt.range());
        match &stmt.node.kind {
            StmtKind::Reference(point) => {
                if let Some(place) = self.point(point, site) {
                    self.circuit.references.push((place.node, site.at(point.span())));
                }
            }
            StmtKind::Find { quantity, case } => {
                let asks = self.asks(quantity, case.as_ref(), site, whole);
                self.circuit.finds.extend(asks);
            }
            StmtKind::Given { quantity, value, case } => {
                if let Some((ask, stated, within)) = self.reading(quantity, value, None, case.as_ref(), site, whole) {
                    self.circuit.givens.push(Reading { ask, stated, within });
                }
            }
            StmtKind::Measured { quantity, value, within, case } => {
                let within = within.as_ref();
                if let Some((ask, stated, within)) = self.reading(quantity, value, within, case.as_ref(), site, whole) {
                    self.circuit.measured.push(Reading { ask, stated, within });
                }
            }
            StmtKind::ClaimQuantity { quantity, value, within, case } => {
                let within = within.as_ref();
                if let Some((ask, stated, within)) = self.reading(quantity, value, within, case.as_ref(), site, whole) {
                    self.circuit.claims.push(Claim::Value { ask, stated, within });
                }
            }
            StmtKind::ClaimRelation { branches, relation, case } => {
                self.claim_relation(branches, *relation, case.as_ref(), site, whole);
            }
            _ => {}
        }
    }

    fn claim_relation(
        &mut self,
        members: &'a [Branch],
        relation: Relation,
        case: Option<&Text>,
        site: Site,
        stmt: FileSpan,
    ) {
        let state = self.state_named(case, site);
        let mut seen = rustc_hash::FxHashSet::default();
        let mut whole = true;
        let mut branches = Vec::with_capacity(members.len());
        let mut texts = Vec::with_capacity(members.len());
        for member in members {
            let mut elements = Vec::with_capacity(member.elements.len());
            let mut names = Vec::with_capacity(member.elements.len());
            for name in &member.elements {
                let text = self.written(name, site);
                match self.element(name, site) {
                    Some(id) if seen.insert(id) => elements.push(id),
                    Some(_) => {
                        let message = format!("`{text}` stands twice in this claim");
                        let found = diagnostic(rules::DUPLICATE_MEMBER, site.at(name.span), message)
                            .help("Name every element once");
                        self.report.add(found);
                        whole = false;
                    }
                    None => whole = false,
                }
                names.push(text);
            }
            texts.push(if names.len() == 1 { names.remove(0) } else { format!("({})", names.join(", ")) });
            branches.push(elements);
        }
        let (Some(state), true) = (state, whole) else { return };
        let word = match relation {
            Relation::Series => "series",
            Relation::Parallel => "parallel",
        };
        self.circuit.claims.push(Claim::Relation {
            relation,
            branches,
            places: members.iter().map(|member| site.at(member.span)).collect(),
            state,
            text: format!("{} in {word}", texts.join(", ")),
            stmt,
        });
    }

    /// An element of the drawing that a statement names.
    fn element(&mut self, name: &Ref, site: Site) -> Option<ElementId> {
        let at = site.at(name.span);
        match self.resolve(name, site) {
            Target::Element(id, None) => self.elements[id.index()].is_placed().then_some(id),
            Target::Cell(_) if self.is_clash(name, site) => None,
            Target::Element(id, Some(field)) => {
                if !self.undeclared(id) {
                    let element = self.elements[id.index()].name.clone();
                    let message =
                        format!("This names a terminal, `.{}` of `{element}`; an element belongs here", field.text);
                    let found = diagnostic(rules::NOT_AN_ELEMENT, at, message).fix(
                        format!("Write `{element}`"),
                        Safety::Asks,
                        at,
                        element,
                    );
                    self.report.add(found);
                }
                None
            }
            other => {
                self.not_an_element(other, at, site);
                None
            }
        }
    }

    fn not_an_element(&mut self, target: Target<'_>, at: FileSpan, site: Site) {
        match target {
            Target::Unknown { name, scope } => self.report_unknown_once(name, scope, site, None),
            Target::Instance(id) => {
                let name = self.instances[id as usize].name.clone();
                let found =
                    diagnostic(rules::NOT_AN_ELEMENT, at, format!("`{name}` is a part; an element belongs here"))
                        .help(format!("Name an element inside of it, as in `{name}.R1`"));
                self.report.add(found);
            }
            Target::Port(..) => {
                self.report.add(diagnostic(rules::NOT_AN_ELEMENT, at, "This names a port; an element belongs here"));
            }
            Target::Cell(id) => {
                let name = self.cells[id as usize].name.clone();
                let found =
                    diagnostic(rules::NOT_AN_ELEMENT, at, format!("`{name}` is a value; an element belongs here"))
                        .label(self.cells[id as usize].at, "defined here");
                self.report.add(found);
            }
            Target::Broken | Target::Element(..) => {}
        }
    }

    /// A point that a statement names.
    fn point(&mut self, point: &Point, site: Site) -> Option<Place> {
        match point {
            Point::Junction(name) => self.junction_point(name, site),
            Point::Terminal { target, sign, span } => {
                let at = site.at(*span);
                let mut text = self.written(target, site);
                match self.resolve(target, site) {
                    Target::Element(id, field) => {
                        let kind = self.elements[id.index()].kind;
                        let terminal = match (field, sign) {
                            (Some(field), None) => self.terminal_named(id, field, site)?,
                            (None, Some(sign)) if kind.is_polar() => {
                                text.push(if *sign == ohmline_syntax::tree::Sign::Plus { '+' } else { '-' });
                                Self::terminal_signed(kind, *sign)?
                            }
                            _ => {
                                self.report_no_terminal(id, &text, sign.is_some(), at);
                                return None;
                            }
                        };
                        let node = *self.elements[id.index()].terminals.get(terminal)?;
                        Some(Place { node, terminal: Some((id, terminal as u8)), instance: None, text })
                    }
                    Target::Port(point, instance) => {
                        let node = self.node_at(point)?;
                        Some(Place { node, terminal: None, instance, text })
                    }
                    other => {
                        self.not_an_element(other, at, site);
                        None
                    }
                }
            }
        }
    }

    fn report_no_terminal(&mut self, id: ElementId, text: &str, signed: bool, at: FileSpan) {
        if self.undeclared(id) {
            return;
        }
        let kind = self.elements[id.index()].kind;
        let found = match kind.terminals() {
            ["+", ..] => {
                diagnostic(rules::MISSING_TERMINAL, at, format!("`{text}` is an element; a point belongs here"))
                    .fix(format!("Write `{text}+`"), Safety::Asks, at, format!("{text}+"))
                    .fix(format!("Write `{text}-`"), Safety::Asks, at, format!("{text}-"))
            }
            ["", ..] if signed => diagnostic(rules::NEEDLESS_POLARITY, at, format!("`{text}` has no `+` and `-`"))
                .help("Name a junction beside it in a path, and speak of that"),
            ["", ..] => {
                diagnostic(rules::MISSING_TERMINAL, at, format!("`{text}` is an element; a point belongs here"))
                    .help("Name a junction beside it in a path, and speak of that")
            }
            terminals => {
                let mut found = diagnostic(
                    rules::MISSING_TERMINAL,
                    at,
                    format!("`{text}` is an element; one of its terminals belongs here"),
                );
                for terminal in terminals {
                    let text = format!("{text}.{terminal}");
                    found = found.fix(format!("Write `{text}`"), Safety::Asks, at, text);
                }
                found
            }
        };
        self.report.add(found);
    }

    fn junction_point(&mut self, name: &Name, site: Site) -> Option<Place> {
        let text = self.fill(name, site)?;
        let (scope, short, _) = self.junction_place(name, site)?;
        match self.junctions.get(&(scope, short)).copied() {
            Some(point) => {
                let node = self.node_at(point)?;
                Some(Place { node, terminal: None, instance: None, text: format!("@{text}") })
            }
            None => {
                if !self.is_mentioned_junction(&text) {
                    self.report_unknown_junction(&text, scope, site.at(name.span));
                }
                None
            }
        }
    }

    /// Two points, both resolved so that both are reported if wrong.
    fn points(&mut self, from: &Point, to: &Point, site: Site) -> Option<(Place, Place)> {
        let (from, to) = (self.point(from, site), self.point(to, site));
        let (from, to) = (from?, to?);
        self.circuit.asked_nodes.extend([from.node, to.node]);
        Some((from, to))
    }

    /// What a quantity asks, one for each element named; what cannot be resolved is left out and reported.
    fn quantities(&mut self, kind: &QuantityKind, site: Site) -> Vec<(Quantity, String)> {
        let one = |found: Option<(Quantity, String)>| found.into_iter().collect();
        match kind {
            QuantityKind::CurrentThrough(names) => self.each(names, site, "current through", |builder, id, at| {
                builder.two_terminals(id, at, "current through", true).then_some(Quantity::CurrentThrough(id))
            }),
            QuantityKind::VoltageAcross(names) => self.each(names, site, "voltage across", |builder, id, at| {
                builder.two_terminals(id, at, "voltage across", false).then_some(Quantity::VoltageAcross(id))
            }),
            QuantityKind::PowerOf(names) => self.each(names, site, "power of", |_, id, _| Some(Quantity::PowerOf(id))),
            QuantityKind::ChargeOf(names) => self.each(names, site, "charge of", |builder, id, at| {
                let fits = matches!(builder.elements[id.index()].kind, Kind::Capacitor | Kind::Electrolytic);
                builder.has(fits, id, at, "charge", "a capacitor").then_some(Quantity::ChargeOf(id))
            }),
            QuantityKind::EnergyOf(names) => self.each(names, site, "energy of", |builder, id, at| {
                let kind = builder.elements[id.index()].kind;
                let fits = matches!(kind, Kind::Capacitor | Kind::Electrolytic | Kind::Inductor);
                builder.has(fits, id, at, "energy", "a capacitor or an inductor").then_some(Quantity::EnergyOf(id))
            }),
            QuantityKind::ValueOf(names) => self.each(names, site, "value of", |builder, id, at| {
                let fits = !matches!(builder.elements[id.index()].kind, Kind::Switch | Kind::Changeover);
                builder.has(fits, id, at, "value in numbers", "an element with a unit").then_some(Quantity::ValueOf(id))
            }),
            QuantityKind::ResistanceSeenBy(name) => {
                self.each(std::slice::from_ref(name), site, "resistance seen by", |builder, id, at| {
                    builder.two_terminals(id, at, "resistance seen by", false).then_some(Quantity::ResistanceSeenBy(id))
                })
            }
            QuantityKind::CurrentInto(point) => {
                let place = self.point(point, site);
                one(place.and_then(|place| self.current_into(place, site.at(point.span()))))
            }
            QuantityKind::VoltageFrom(from, to) => one(self.points(from, to, site).map(|(from, to)| {
                (Quantity::VoltageBetween(from.node, to.node), format!("voltage from {} to {}", from.text, to.text))
            })),
            QuantityKind::ResistanceBetween(from, to) => one(self.points(from, to, site).map(|(from, to)| {
                let text = format!("resistance between {} and {}", from.text, to.text);
                (Quantity::ResistanceBetween(from.node, to.node), text)
            })),
            QuantityKind::CapacitanceBetween(from, to) => one(self.points(from, to, site).map(|(from, to)| {
                let text = format!("capacitance between {} and {}", from.text, to.text);
                (Quantity::CapacitanceBetween(from.node, to.node), text)
            })),
            QuantityKind::PotentialAt(point) => {
                let place = self.point(point, site);
                one(place.map(|place| {
                    self.circuit.asked_nodes.push(place.node);
                    (Quantity::PotentialAt(place.node), format!("potential at {}", place.text))
                }))
            }
        }
    }

    fn each(
        &mut self,
        names: &[Ref],
        site: Site,
        words: &str,
        make: impl Fn(&mut Self, ElementId, FileSpan) -> Option<Quantity>,
    ) -> Vec<(Quantity, String)> {
        let mut found = Vec::with_capacity(names.len());
        for name in names {
            let text = format!("{words} {}", self.written(name, site));
            let at = site.at(name.span);
            let quantity = match self.resolve(name, site) {
                Target::Instance(id) => self.of_instance(id, words, at),
                _ => self.element(name, site).and_then(|id| make(self, id, at)),
            };
            found.extend(quantity.map(|quantity| (quantity, text)));
        }
        found
    }

    /// A quantity of a whole part with two ports.
    fn of_instance(&mut self, id: u32, words: &str, at: FileSpan) -> Option<Quantity> {
        let instance = &self.instances[id as usize];
        if !instance.used {
            return None;
        }
        let (ports, name) = (instance.ports.clone(), instance.name.clone());
        if ports.len() == 2 {
            match words {
                "voltage across" => {
                    let (from, to) = (self.node_at(ports.start)?, self.node_at(ports.start + 1)?);
                    return Some(Quantity::VoltageBetween(from, to));
                }
                "current through" => {
                    let node = self.node_at(ports.start)?;
                    if let Some((element, terminal)) = self.only_end_inside(id, node) {
                        return Some(Quantity::CurrentInto(element, terminal));
                    }
                }
                _ => {}
            }
        }
        let what = words.split(' ').next().unwrap_or(words);
        let message = format!("`{name}` is a part: its {what} is not one value of one element");
        let found = diagnostic(rules::WRONG_QUANTITY, at, message)
            .help(format!("Ask for an element inside of it, as in `{words} {name}.R1`"));
        self.report.add(found);
        None
    }

    /// The only terminal inside of a copy of a part that touches a node.
    fn only_end_inside(&self, instance: u32, node: NodeId) -> Option<(ElementId, u8)> {
        let inside = &self.instances[instance as usize].elements;
        let mut ends = self.circuit.ends(node).iter().filter(|end| inside.contains(&end.element.0));
        let first = ends.next()?;
        ends.next().is_none().then_some((first.element, first.terminal))
    }

    fn current_into(&mut self, place: Place, at: FileSpan) -> Option<(Quantity, String)> {
        let text = format!("current into {}", place.text);
        let terminal = match (place.terminal, place.instance) {
            (Some(terminal), _) => Some(terminal),
            (None, Some(instance)) => self.only_end_inside(instance, place.node),
            (None, None) => None,
        };
        if let Some((element, terminal)) = terminal {
            return Some((Quantity::CurrentInto(element, terminal), text));
        }
        let message = if place.instance.is_some() {
            format!(
                "Several elements meet at `{}` inside of the part, so the current into it is no single element's",
                place.text
            )
        } else {
            format!("`{}` is a junction: as much flows into it as out of it", place.text)
        };
        let found = diagnostic(rules::WRONG_QUANTITY, at, message)
            .help("Name a terminal, as in `current into P1.wiper`, or an element, as in `current through R1`");
        self.report.add(found);
        None
    }

    /// Whether a quantity of two terminals has a meaning for an element; reports it where not.
    fn two_terminals(&mut self, id: ElementId, at: FileSpan, words: &str, changeover: bool) -> bool {
        let element = &self.elements[id.index()];
        if element.kind.terminals().len() == 2 || (changeover && element.kind == Kind::Changeover) {
            return true;
        }
        let (name, terminal) = (&element.name, element.kind.terminals()[0]);
        let message = format!("`{name}` has three terminals, so `{words}` has no single meaning for it");
        let help = if words == "current through" {
            format!("Ask for the current into one of its terminals, as in `current into {name}.{terminal}`")
        } else {
            format!("Speak of two points, as in `from {name}.{terminal} to @a`")
        };
        self.report.add(diagnostic(rules::WRONG_QUANTITY, at, message).help(help));
        false
    }

    fn has(&mut self, fits: bool, id: ElementId, at: FileSpan, what: &str, who: &str) -> bool {
        if !fits && !self.undeclared(id) {
            let element = &self.elements[id.index()];
            let article = if what.starts_with('e') { "an" } else { "a" };
            let message = format!("`{}` is a {}, which has no {what}", element.name, element.kind.word())
                .replace("is a ammeter", "is an ammeter")
                .replace("is a electrolytic", "is an electrolytic")
                .replace("is a inductor", "is an inductor");
            let help = format!("{} has {article} {what}", capitalized(who));
            self.report.add(diagnostic(rules::WRONG_QUANTITY, at, message).help(help));
        }
        fits
    }

    fn asks(&mut self, quantity: &'a Asked, case: Option<&Text>, site: Site, stmt: FileSpan) -> Vec<Ask> {
        let state = self.state_named(case, site);
        let found = self.quantities(&quantity.kind, site);
        let after = match &quantity.after {
            Some(after) => match self.time(after, site) {
                Some(time) => Some(time),
                None => return Vec::new(),
            },
            None => None,
        };
        let Some(state) = state else { return Vec::new() };
        let suffix = match &quantity.after {
            Some(after) => {
                let tree = &self.sources.files[0].tree;
                format!(" after {}", tree.slice(site.at(after.span).span).trim())
            }
            None => String::new(),
        };
        let at = site.at(quantity.span);
        found
            .into_iter()
            .map(|(quantity, text)| Ask { quantity, text: text + &suffix, at, stmt, state, after: after.clone() })
            .collect()
    }

    fn time(&mut self, after: &'a Expr, site: Site) -> Option<Rational> {
        let measure = self.eval(after, site, None, Some(Dimension::SECOND))?;
        if measure.dimension != Dimension::SECOND {
            self.report_dimension(after, measure.dimension, Dimension::SECOND, "what follows `after`", site);
            return None;
        }
        if measure.value < 0 {
            let message = "What follows `after` cannot be negative";
            self.report.add(diagnostic(rules::OUT_OF_RANGE, site.at(after.span), message));
            return None;
        }
        Some(measure.value)
    }

    /// A quantity with the value stated for it.
    fn reading(
        &mut self,
        quantity: &'a Asked,
        value: &'a Expr,
        within: Option<&'a Expr>,
        case: Option<&Text>,
        site: Site,
        stmt: FileSpan,
    ) -> Option<(Ask, Stated, Option<Within>)> {
        let ask = self.asks(quantity, case, site, stmt).into_iter().next();
        let unit = match &ask {
            Some(ask) => self.unit_of(&ask.quantity),
            None => unit_of_words(&quantity.kind)?,
        };
        let stated = self.stated(value, unit, site);
        let within = match within {
            Some(within) => Some(self.within(within, unit, site)?),
            None => None,
        };
        Some((ask?, stated?, within))
    }

    /// The unit of a quantity.
    fn unit_of(&self, quantity: &Quantity) -> Unit {
        quantity.unit(|id| self.elements[id.index()].kind)
    }

    fn stated(&mut self, value: &'a Expr, unit: Unit, site: Site) -> Option<Stated> {
        let expected = unit.dimension();
        let measure = self.eval(value, site, None, Some(expected))?;
        if measure.dimension != expected {
            self.report_dimension(value, measure.dimension, expected, "the quantity", site);
            return None;
        }
        let mut bare = value;
        while let ExprKind::Neg(inner) = &bare.kind {
            bare = inner;
        }
        let literal = match &bare.kind {
            ExprKind::Number { text, unit } => {
                read_literal(text, unit.as_ref().map(|unit| unit.text.as_str()), Some(expected)).ok()
            }
            _ => None,
        };
        let at = site.at(value.span);
        Some(match literal {
            Some(literal) => {
                Stated { value: measure.value, last_digit: Some(literal.last_digit), digits: literal.digits, at }
            }
            None => Stated { value: measure.value, last_digit: None, digits: 0, at },
        })
    }

    fn within(&mut self, within: &'a Expr, unit: Unit, site: Site) -> Option<Within> {
        let expected = unit.dimension();
        let measure = self.eval(within, site, None, Some(expected))?;
        if measure.dimension == Dimension::NONE && is_bare(within) {
            let at = site.at(within.span);
            let unit = expected.unit_word();
            let said = unit.map_or_else(|| "`%`".to_owned(), |unit| format!("`%` or `{unit}`"));
            let mut behind = at;
            behind.span.start = behind.span.end;
            let mut found = diagnostic(rules::MISSING_UNIT, at, format!("What follows `within` needs a unit: {said}"))
                .help("`within 2%` is a share of the stated value, a unit makes it an amount");
            if matches!(within.kind, ExprKind::Number { .. }) {
                found = found.fix("Write `%` behind it", Safety::Asks, behind, "%");
                if let Some(unit) = unit {
                    found = found.fix(format!("Write `{unit}` behind it"), Safety::Asks, behind, format!(" {unit}"));
                }
            }
            self.report.add(found);
            return None;
        }
        if measure.value < 0 {
            let message = "What follows `within` cannot be negative";
            self.report.add(diagnostic(rules::OUT_OF_RANGE, site.at(within.span), message));
            return None;
        }
        if measure.dimension == Dimension::NONE {
            return Some(Within::Relative(measure.value));
        }
        if measure.dimension != expected {
            self.report_dimension(within, measure.dimension, expected, "what follows `within`", site);
            return None;
        }
        Some(Within::Absolute(measure.value))
    }

    /// Two different reference points in one piece contradict each other.
    fn check_references(&mut self) {
        if self.circuit.references.len() < 2 {
            return;
        }
        let mut parent: Vec<u32> = (0..self.circuit.nodes.len() as u32).collect();
        let root = |parent: &mut Vec<u32>, mut node: u32| {
            while parent[node as usize] != node {
                parent[node as usize] = parent[parent[node as usize] as usize];
                node = parent[node as usize];
            }
            node
        };
        for element in &self.elements {
            if let [first, rest @ ..] = element.terminals.as_slice() {
                for other in rest {
                    let (a, b) = (root(&mut parent, first.0), root(&mut parent, other.0));
                    parent[a.max(b) as usize] = a.min(b);
                }
            }
        }
        let mut first_of: rustc_hash::FxHashMap<u32, (NodeId, FileSpan)> = Default::default();
        let mut kept = Vec::new();
        for (node, at) in std::mem::take(&mut self.circuit.references) {
            let piece = root(&mut parent, node.0);
            match first_of.get(&piece) {
                None => {
                    first_of.insert(piece, (node, at));
                    kept.push((node, at));
                }
                Some((first, first_at)) if *first != node => {
                    let label = &self.circuit.nodes[first.index()].label;
                    let found = diagnostic(
                        rules::SECOND_REFERENCE,
                        at,
                        format!("This piece of the circuit has its 0 V point at {label} already"),
                    )
                    .label(*first_at, "the first one, which holds")
                    .help("Leave one of the two out");
                    self.report.add(found);
                }
                Some(_) => {}
            }
        }
        self.circuit.references = kept;
    }
}

/// Whether an expression holds numbers alone: no name, no percent sign, nothing that tells what it is a share or an amount of.
fn is_bare(expr: &Expr) -> bool {
    let mut todo = vec![expr];
    while let Some(expr) = todo.pop() {
        match &expr.kind {
            ExprKind::Number { text, unit } => {
                if unit.is_some() || !text.bytes().all(|byte| byte.is_ascii_digit() || b".eE+-".contains(&byte)) {
                    return false;
                }
            }
            ExprKind::Ref(_) => return false,
            ExprKind::Neg(inner) => todo.push(inner),
            ExprKind::Group { inner, unit: None } => todo.push(inner),
            ExprKind::Group { .. } => return false,
            ExprKind::Binary { left, right, .. } => todo.extend([&**left, &**right]),
        }
    }
    true
}

/// The unit of a quantity whose elements are not known; `None` where it depends on them.
fn unit_of_words(kind: &QuantityKind) -> Option<Unit> {
    Some(match kind {
        QuantityKind::CurrentThrough(_) | QuantityKind::CurrentInto(_) => Unit::Ampere,
        QuantityKind::VoltageAcross(_) | QuantityKind::VoltageFrom(..) | QuantityKind::PotentialAt(_) => Unit::Volt,
        QuantityKind::ResistanceBetween(..) | QuantityKind::ResistanceSeenBy(_) => Unit::Ohm,
        QuantityKind::CapacitanceBetween(..) => Unit::Farad,
        QuantityKind::PowerOf(_) => Unit::Watt,
        QuantityKind::ChargeOf(_) => Unit::Coulomb,
        QuantityKind::EnergyOf(_) => Unit::Joule,
        QuantityKind::ValueOf(_) => return None,
    })
}
