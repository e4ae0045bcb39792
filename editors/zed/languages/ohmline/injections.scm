; Copied from grammar/tree-sitter/queries/injections.scm by `cargo xtask grammar`.

((comment) @injection.content
  (#set! injection.language "comment"))
