//! How many elements a copy of a part brings, before it is made: parts that hold two of each other grow beyond all bounds in a few lines.

use ohmline_syntax::tree::StmtKind;

use super::kinds::KindWord;
use super::{Builder, MAX_DEPTH};

impl Builder<'_> {
    /// The least number of elements in a copy of a part; what `repeat` makes of it is not counted.
    pub(super) fn least_size(&mut self, part: u32) -> u64 {
        if self.sizes.len() < self.parts.len() {
            self.sizes.resize(self.parts.len(), None);
        }
        self.size_within(part, MAX_DEPTH)
    }

    fn size_within(&mut self, part: u32, depth: usize) -> u64 {
        if let Some(size) = self.sizes[part as usize] {
            return size;
        }
        if depth == 0 {
            return 0;
        }
        // A part that holds itself is reported where it is copied; here it ends.
        self.sizes[part as usize] = Some(0);
        let (file, body) = (self.parts[part as usize].file, self.parts[part as usize].body.clone());
        let sources = self.sources;
        let stmts = &sources.file(file).tree.stmts;
        let mut size = 0u64;
        for stmt in stmts.get(body.start as usize..body.end as usize).unwrap_or_default() {
            let StmtKind::Declare(declare) = &stmt.node.kind else { continue };
            let each = match self.part_names.get(&(file, declare.kind.text.clone())) {
                _ if KindWord::of(&declare.kind.text).is_some() => 1,
                Some((Some(inner), _)) => {
                    let inner = *inner;
                    self.size_within(inner, depth - 1)
                }
                _ => 0,
            };
            size = size.saturating_add(each.saturating_mul(declare.names.len() as u64));
        }
        self.sizes[part as usize] = Some(size);
        size
    }
}
