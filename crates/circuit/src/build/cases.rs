//! Cases to states: values, options, lets and faults that differ from the circuit as drawn.

use ohmline_syntax::FileSpan;
use ohmline_syntax::tree::{Assign, Expr, ExprKind, Name, StmtKind, Value, ValueMain};
use rustc_hash::{FxHashMap, FxHashSet};
use smol_str::SmolStr;

use super::cells::{Reader, Status};
use super::kinds::KindWord;
use super::params::{Reading, set_option};
use super::report::{diagnostic, listed};
use super::resolve::Target;
use super::scope::{EnvId, ScopeId};
use super::{Builder, Decl, Site, rules};
use crate::model::{Amount, ElementId, Fault, Kind, Params, State, StateId};

/// The circuit as drawn.
pub(super) fn drawn() -> State {
    State { name: None, at: None, overrides: FxHashMap::default(), faults: FxHashMap::default() }
}

/// What an assignment of a case sets.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum Place {
    Value(ElementId),
    Option(ElementId, &'static str),
    Setting(ElementId),
    Cell(u32),
}

impl<'a> Builder<'a> {
    pub(super) fn build_states(&mut self) {
        self.circuit.states.push(drawn());
        let file = &self.sources.files[0];
        for index in 0..self.statements.len() {
            let stmt = &file.tree.stmts[self.statements[index] as usize];
            let StmtKind::Case { name, assigns } = &stmt.node.kind else { continue };
            let site =
                Site { file: ohmline_syntax::FileId::MAIN, offset: stmt.offset, scope: ScopeId(0), env: EnvId::NONE };
            let at = site.at(name.span);
            let next = StateId(self.circuit.states.len() as u32);
            if let Some(earlier) = self.case_ids.get(&name.text) {
                let mut found =
                    diagnostic(rules::DUPLICATE_CASE, at, format!("There is a case \"{}\" already", name.text))
                        .help("Give one of them another name");
                if let Some(first) = self.circuit.states[earlier.index()].at {
                    found = found.label(first, "the first one");
                }
                self.report.add(found);
                continue;
            }
            self.case_ids.insert(name.text.clone(), next);
            let state = self.build_state(name.text.clone(), at, assigns, site);
            self.circuit.states.push(state);
        }
    }

    fn build_state(&mut self, name: SmolStr, at: FileSpan, assigns: &'a [Assign], site: Site) -> State {
        let mut state = State { name: Some(name.clone()), at: Some(at), ..drawn() };
        let mut placed: Vec<(Place, &'a Assign)> = Vec::with_capacity(assigns.len());
        let mut seen = FxHashSet::default();
        for assign in assigns {
            let Some(place) = self.place(assign, site) else { continue };
            if seen.insert(place) {
                placed.push((place, assign));
            } else {
                let text = self.written(&assign.target, site);
                let message = format!("`{text}` is set twice in one case");
                self.report.add(diagnostic(rules::DUPLICATE_OPTION, site.at(assign.target.span), message));
            }
        }
        self.recording = false;
        let saved = self.change_cells(&placed, site);
        let mut affected: Vec<ElementId> = saved.elements.clone();
        affected.sort_unstable();
        affected.dedup();
        self.report.case = Some(name.to_string());
        for id in affected {
            let Decl { declare: Some(declare), site } = self.decls[id.index()] else { continue };
            let Some(word) = KindWord::of(&declare.kind.text) else { continue };
            let Some(declared) = declare.names.first() else { continue };
            let (kind, params) = self.params(word, declared, declare, site, id);
            let element = &self.elements[id.index()];
            if kind == element.kind && params != element.params {
                state.overrides.insert(id, params);
            }
        }
        self.report.case = None;
        for (place, assign) in placed {
            self.assign(place, assign, site, &mut state);
        }
        for (id, value, value_site, status) in saved.cells {
            let cell = &mut self.cells[id as usize];
            (cell.value, cell.site, cell.status) = (value, value_site, status);
        }
        self.recording = true;
        state
    }

    /// What an assignment sets; reports what cannot be set.
    fn place(&mut self, assign: &'a Assign, site: Site) -> Option<Place> {
        let at = site.at(assign.target.span);
        match self.resolve(&assign.target, site) {
            Target::Element(id, None) => Some(Place::Value(id)),
            Target::Element(id, Some(field)) => self.option_place(id, field, site),
            Target::Cell(id) => Some(Place::Cell(id)),
            Target::Instance(id) => {
                let name = self.instances[id as usize].name.clone();
                let found = diagnostic(
                    rules::NOT_AN_ELEMENT,
                    at,
                    format!("`{name}` is a part: a case changes what is inside of it"),
                )
                .help(format!("Name an element or a parameter inside, as in `{name}.R1 = ...`"));
                self.report.add(found);
                None
            }
            Target::Port(..) => {
                self.report.add(diagnostic(rules::NOT_AN_ELEMENT, at, "A port has no value that a case could change"));
                None
            }
            Target::Broken => None,
            Target::Unknown { name, scope } => {
                self.report_unknown_once(name, scope, site, None);
                None
            }
        }
    }

    fn option_place(&mut self, id: ElementId, field: &Name, site: Site) -> Option<Place> {
        if self.undeclared(id) {
            return None;
        }
        let element = &self.elements[id.index()];
        let kind = KindWord::of(element.kind.word())?;
        if element.kind == Kind::Potentiometer && field.text == "at" {
            return Some(Place::Setting(id));
        }
        if let Some(spec) = kind.option(&field.text) {
            return Some(Place::Option(id, spec.name));
        }
        let mut known: Vec<&str> = kind.options().iter().map(|option| option.name).collect();
        if element.kind == Kind::Potentiometer {
            known.push("at");
        }
        let message = format!("`{}` has no option `{}`", element.name, field.text);
        let at = site.at(field.span);
        self.report_unknown_option(at, message, &field.text, known);
        None
    }

    /// Gives cells their values of this case, and forgets the values of all that depend on them.
    fn change_cells(&mut self, placed: &[(Place, &'a Assign)], site: Site) -> Saved<'a> {
        let mut saved = Saved { cells: Vec::new(), elements: Vec::new() };
        let mut seen = FxHashSet::default();
        let mut todo = Vec::new();
        for (place, _) in placed {
            if let Place::Cell(id) = place {
                todo.push(*id);
            }
        }
        while let Some(id) = todo.pop() {
            if !seen.insert(id) {
                continue;
            }
            let cell = &mut self.cells[id as usize];
            let status = std::mem::replace(&mut cell.status, Status::New);
            saved.cells.push((id, cell.value, cell.site, status));
            for reader in &cell.readers {
                match reader {
                    Reader::Cell(reader) => todo.push(*reader),
                    Reader::Element(element) => saved.elements.push(*element),
                }
            }
        }
        for (place, assign) in placed {
            if let Place::Cell(id) = place {
                if let ValueMain::Unknown { .. } = assign.value.main {
                    self.report_unknown_in_case(&assign.value, site);
                    continue;
                }
                let cell = &mut self.cells[*id as usize];
                (cell.value, cell.site) = (&assign.value, site);
            }
        }
        for (place, _) in placed {
            if let Place::Cell(id) = place {
                // Evaluated even if nothing uses it, so that its mistakes are reported.
                self.cell(*id);
            }
        }
        saved
    }

    fn report_unknown_in_case(&mut self, value: &Value, site: Site) {
        let found = diagnostic(
            rules::MISPLACED_UNKNOWN,
            site.at(value.span),
            "A case sets a value; it cannot leave one to be found",
        )
        .help("Write `?` where the element is declared: what is found is the same in all cases");
        self.report.add(found);
    }

    fn assign(&mut self, place: Place, assign: &'a Assign, site: Site, state: &mut State) {
        let value = &assign.value;
        let id = match place {
            Place::Cell(_) => return,
            Place::Value(id) | Place::Option(id, _) | Place::Setting(id) => id,
        };
        if let ValueMain::Unknown { .. } = value.main {
            self.report_unknown_in_case(value, site);
            return;
        }
        let element = &self.elements[id.index()];
        let Some(kind) = KindWord::of(element.kind.word()) else { return };
        let mut params = state.overrides.get(&id).unwrap_or(&element.params).clone();
        let how = Reading { site, reader: None };
        match place {
            Place::Cell(_) => {}
            Place::Option(_, name) => {
                let Some(spec) = kind.option(name) else { return };
                let amount = self.option_amount(kind, spec, value, site.at(assign.target.span), how);
                set_option(&mut params, name, amount);
            }
            Place::Setting(_) => {
                let share = self.setting(value, how);
                if let Params::Potentiometer { at, .. } = &mut params {
                    *at = share;
                }
            }
            Place::Value(_) => {
                if let Some(fault) = self.fault(id, value, site) {
                    if let Some(fault) = fault {
                        state.faults.insert(id, fault);
                    }
                    return;
                }
                if self.undeclared(id) {
                    return;
                }
                let new = if let (Params::Potentiometer { at, rating, .. }, None) = (&params, &value.at) {
                    let resistance = self.potentiometer_resistance(value, how);
                    Params::Potentiometer { resistance, at: at.clone(), rating: rating.clone() }
                } else {
                    let (new_kind, new) = self.main_value(kind, value, how);
                    let drawn = self.elements[id.index()].kind;
                    if new_kind != drawn && !is_invalid(&new) {
                        let name = &self.elements[id.index()].name;
                        let (is, becomes) =
                            if drawn == Kind::VoltageSource { ("voltage", "current") } else { ("current", "voltage") };
                        let message = format!("`{name}` is a {is} source; a case cannot make a {becomes} source of it");
                        self.report.add(diagnostic(rules::WRONG_UNIT, site.at(value.span), message));
                        return;
                    }
                    new
                };
                replace_value(&mut params, new);
            }
        }
        state.overrides.insert(id, params);
    }

    /// Whether a value says that the element is taken out or bridged; `Some(None)` when it does where it cannot.
    fn fault(&mut self, id: ElementId, value: &Value, site: Site) -> Option<Option<Fault>> {
        let ValueMain::Expr(Expr { kind: ExprKind::Ref(name), .. }) = &value.main else { return None };
        let [only] = name.parts.as_slice() else { return None };
        let element = &self.elements[id.index()];
        let fault = match only.text.as_str() {
            "open" if element.kind != Kind::Switch => Fault::Open,
            "shorted" => Fault::Shorted,
            _ => return None,
        };
        if element.kind.terminals().len() == 2 {
            return Some(Some(fault));
        }
        let message = format!("`{}` has three terminals; only an element with two can be {}", element.name, only.text);
        self.report.add(diagnostic(rules::WRONG_VALUE, site.at(value.span), message));
        Some(None)
    }

    /// The state that a statement speaks of. `None`: no case has that name, which is reported.
    pub(super) fn state_named(&mut self, case: Option<&ohmline_syntax::tree::Text>, site: Site) -> Option<StateId> {
        let Some(case) = case else { return Some(StateId::DRAWN) };
        if let Some(state) = self.case_ids.get(&case.text) {
            return Some(*state);
        }
        let at = site.at(case.span);
        let known: Vec<&str> = self.circuit.states.iter().filter_map(|state| state.name.as_deref()).collect();
        let found = diagnostic(rules::UNKNOWN_CASE, at, format!("There is no case \"{}\"", case.text));
        let found = if known.is_empty() {
            found.help(format!("Define it, as in `case \"{}\": S1 = open`", case.text))
        } else {
            let quoted: Vec<String> = super::nearest::nearest(&case.text, known.iter().copied())
                .into_iter()
                .map(|name| format!("\"{name}\""))
                .collect();
            let all: Vec<&str> = known.iter().take(20).copied().collect();
            let found = found.note(format!("The cases are {}", listed(all.iter().map(|name| format!("\"{name}\"")))));
            super::report::offer(found, at, &quoted)
        };
        self.report.add(found);
        None
    }
}

/// Cells as they were, and the elements that read any of them.
struct Saved<'a> {
    cells: Vec<(u32, &'a Value, Site, Status)>,
    elements: Vec<ElementId>,
}

fn is_invalid(params: &Params) -> bool {
    matches!(
        params,
        Params::VoltageSource { voltage: Amount::Invalid, .. } | Params::CurrentSource { drive: Amount::Invalid, .. }
    )
}

/// Puts the value behind `=` in the place of the old one; options stay.
fn replace_value(params: &mut Params, new: Params) {
    match (params, new) {
        (Params::Battery { emf, .. }, Params::Battery { emf: new, .. }) => *emf = new,
        (Params::VoltageSource { voltage, .. }, Params::VoltageSource { voltage: new, .. }) => *voltage = new,
        (Params::CurrentSource { drive, .. }, Params::CurrentSource { drive: new, .. }) => *drive = new,
        (Params::CurrentSource { drive, .. }, Params::VoltageSource { .. }) => *drive = Amount::Invalid,
        (Params::Resistor { resistance, .. }, Params::Resistor { resistance: new, .. }) => *resistance = new,
        (Params::Fuse { rating, .. }, Params::Fuse { rating: new, .. }) => *rating = new,
        (Params::Ammeter { resistance, .. }, Params::Ammeter { resistance: new, .. })
        | (Params::Voltmeter { resistance, .. }, Params::Voltmeter { resistance: new, .. }) => *resistance = new,
        (Params::Capacitor { capacitance, .. }, Params::Capacitor { capacitance: new, .. }) => *capacitance = new,
        (Params::Inductor { inductance, .. }, Params::Inductor { inductance: new, .. }) => *inductance = new,
        (Params::Diode { drop, .. }, Params::Diode { drop: new, .. }) => *drop = new,
        (Params::Potentiometer { resistance, at, .. }, Params::Potentiometer { resistance: new, at: new_at, .. }) => {
            *resistance = new;
            *at = new_at;
        }
        (params @ (Params::Lamp { .. } | Params::Switch { .. } | Params::Changeover { .. }), new) => *params = new,
        // The kinds are the same by construction.
        _ => {}
    }
}
