; Copied from grammar/tree-sitter/queries/indents.scm by `cargo xtask grammar`.

[
  (part_definition)
  (repeat_block)
] @indent.begin

(end_statement) @indent.branch @indent.end
