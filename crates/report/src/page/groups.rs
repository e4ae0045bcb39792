//! Who is in series and in parallel with whom, and the points at 0 V.

use ohmline_circuit::{NodeId, StateId};
use ohmline_solve::StateAnswers;

use super::{NAMES_SHOWN, Page};
use crate::amounts;
use crate::groups::{Groups, Member};

impl Page<'_> {
    /// Who is in series and in parallel with whom; for cases only where that differs from the circuit as drawn.
    pub(super) fn relations(&mut self, state: StateId) {
        let groups = |state: StateId| {
            self.analysis.topologies.get(state.index()).map(|topology| Groups::of(self.circuit, topology))
        };
        let Some(base) = groups(state) else { return };
        let mut others: Vec<(String, Groups)> = Vec::new();
        if self.options.state.is_none() {
            for state in self.circuit.state_ids().skip(1) {
                others.extend(groups(state).map(|groups| (self.state_name(state), groups)));
            }
        }
        for series in [true, false] {
            let lines = |page: &Self, groups: &Groups| {
                if series { page.in_series(groups) } else { page.in_parallel(groups) }
            };
            let heading = if series { "In series: one current" } else { "In parallel: the same two points" };
            let drawn = lines(self, &base);
            self.heading(heading);
            self.list(2, &drawn);
            // Cases with the same groups share one list.
            let mut different: Vec<(Vec<&str>, Vec<String>)> = Vec::new();
            for (name, groups) in &others {
                let lines = lines(self, groups);
                match different.iter_mut().find(|(_, other)| *other == lines) {
                    _ if lines == drawn => {}
                    Some((names, _)) => names.push(name),
                    None => different.push((vec![name], lines)),
                }
            }
            for (names, lines) in different {
                self.text(2, &format!("in {}:", names.join(", ")));
                self.list(4, &lines);
            }
        }
    }

    fn list(&mut self, indent: usize, lines: &[String]) {
        if lines.is_empty() {
            self.text(indent, "none");
        }
        for line in lines {
            self.text(indent, line);
        }
    }

    fn in_series(&self, groups: &Groups) -> Vec<String> {
        let direct = groups.series.iter().map(|group| self.names(group));
        let reduced = groups
            .reduced
            .iter()
            .map(|group| format!("{} (after reduction: groups of others stand between)", self.names(group)));
        direct.chain(reduced).collect()
    }

    fn in_parallel(&self, groups: &Groups) -> Vec<String> {
        let line = |group: &Vec<Member>| match self.ends(group) {
            Some((from, to)) => format!("{} (between {from} and {to})", self.names(group)),
            None => self.names(group),
        };
        groups.parallel.iter().map(line).collect()
    }

    /// The two points of a parallel group, where each has a name of its own.
    fn ends(&self, group: &[Member]) -> Option<(&str, &str)> {
        let pairs = group.iter().filter_map(|member| {
            let [from, to] = self.circuit.element(member.element).terminals.as_slice() else { return None };
            let named = |node: NodeId| !self.circuit.node(node).names.is_empty();
            (named(*from) && named(*to))
                .then(|| (amounts::point(self.circuit, *from), amounts::point(self.circuit, *to)))
        });
        pairs.into_iter().next()
    }

    fn names(&self, group: &[Member]) -> String {
        let name = |member: &Member| {
            let name = self.circuit.element(member.element).name.as_str();
            member.side.map_or_else(|| name.to_owned(), |side| format!("{name} ({side})"))
        };
        let shown: Vec<_> = group.iter().take(NAMES_SHOWN).map(name).collect();
        let mut names = shown.join(", ");
        if group.len() > NAMES_SHOWN {
            names.push_str(&format!(" and {} more", group.len() - NAMES_SHOWN));
        }
        names
    }

    pub(super) fn references(&mut self, state: StateId, answers: &StateAnswers) {
        if answers.references.is_empty() {
            return;
        }
        self.heading("Reference: the point at 0 V");
        // Pieces beyond a few are loose parts of a large drawing; one line says so.
        const SHOWN: usize = 20;
        let pieces = answers.references.len();
        for reference in answers.references.iter().take(SHOWN) {
            let at = amounts::point(self.circuit, reference.node);
            let how = if reference.chosen { "chosen here; `reference POINT` sets another" } else { "as declared" };
            let piece = if pieces > 1 { self.piece(state, reference.node) } else { String::new() };
            self.text(2, &format!("{at}  ({how}){piece}"));
        }
        if pieces > SHOWN {
            self.text(2, &format!("and one in each of {} more pieces", pieces - SHOWN));
        }
    }

    /// A few elements of a piece, so that readers know which one it is.
    fn piece(&self, state: StateId, reference: NodeId) -> String {
        let Some(topology) = self.analysis.topologies.get(state.index()) else { return String::new() };
        let Some(piece) = topology.piece.get(reference.index()) else { return String::new() };
        let declared = self.circuit.declared_ids().map(|id| self.circuit.element(id));
        let mut names = declared.filter(|element| {
            element.terminals.first().is_some_and(|node| topology.piece.get(node.index()) == Some(piece))
        });
        let shown: Vec<_> = names.by_ref().take(3).map(|element| element.name.as_str()).collect();
        let more = if names.next().is_some() { ", ..." } else { "" };
        format!(", for the piece with {}{more}", shown.join(", "))
    }
}
