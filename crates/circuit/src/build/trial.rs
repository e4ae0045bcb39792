//! Parts of the first file that nothing in it uses: read all the same, so that a mistake in a kit shows while the kit is written.
//!
//! Each is copied once, by itself, with its parameters as the part has them. Nothing of these copies is in the circuit; only what is
//! wrong inside of them is kept.

use ohmline_syntax::memo::Memo;
use ohmline_syntax::tree::Declare;
use ohmline_syntax::{Diagnostic, FileId, FileSpan, Span};
use smallvec::smallvec;

use super::scope::{EnvId, ScopeId};
use super::{Builder, Site};

impl<'a> Builder<'a> {
    /// The parts of the first file of which nothing has declared a copy: each with a declaration of one.
    pub(super) fn unused_parts(&self) -> Vec<(u32, Declare)> {
        let mut used = vec![false; self.parts.len()];
        self.instances.iter().for_each(|instance| used[instance.part as usize] = true);
        let own = (0..self.parts.len() as u32).filter(|part| self.parts[*part as usize].file == FileId::MAIN);
        own.filter(|part| !used[*part as usize])
            .map(|part| {
                let name = self.parts[part as usize].name;
                let declare = Declare {
                    kind: name.clone(),
                    names: smallvec![name.clone()],
                    value: None,
                    options: Vec::new(),
                    memo: Memo::default(),
                };
                (part, declare)
            })
            .collect()
    }

    /// What is wrong inside of these parts. The builder has imported what files define, and done nothing else.
    pub(super) fn try_parts(mut self, parts: &'a [(u32, Declare)]) -> Vec<Diagnostic> {
        self.alone = true;
        self.note_unreadable(FileId::MAIN, ScopeId(0));
        let tree = &self.sources.files[0].tree;
        let mut bodies = Vec::new();
        for (part, declare) in parts {
            let def = &self.parts[*part as usize];
            let site = Site { file: FileId::MAIN, offset: def.offset, scope: ScopeId(0), env: EnvId::NONE };
            let end = tree.stmts.get(def.body.end as usize).map_or(tree.text.len() as u32, |stmt| stmt.offset);
            bodies.push(Span::new(def.name.span.at(def.offset).end, end));
            let id = self.instances.len();
            self.instantiate(*part, &declare.names[0], declare, site);
            // That nothing joins it is what brings it here.
            if let Some(instance) = self.instances.get_mut(id) {
                instance.used = true;
            }
        }
        if self.full {
            return Vec::new();
        }
        self.finish_params();
        self.wire_all();
        // Bodies stand in the order of the text, and none in another.
        let inside = |at: FileSpan| {
            let behind = bodies.partition_point(|body| body.start <= at.span.start);
            let body = behind.checked_sub(1).map(|before| &bodies[before]);
            at.file == FileId::MAIN && body.is_some_and(|body| at.span.end <= body.end)
        };
        self.report.into_sorted().into_iter().filter(|found| inside(found.primary.at)).collect()
    }
}
