; Copied from grammar/tree-sitter/queries/folds.scm by `cargo xtask grammar`.

[
  (part_definition)
  (repeat_block)
  (group)
] @fold
