; A part is a scope of its own: it sees the parts and named values of the file, and nothing sees into it but through a dot.
[
  (source_file)
  (part_definition)
  (repeat_block)
] @local.scope

(declaration name: (name) @local.definition.var)
(let_statement name: (name) @local.definition.constant)
(part_head name: (name) @local.definition.type)
(part_head port: (name) @local.definition.parameter)
(part_head parameter: (option name: (name) @local.definition.parameter))
(repeat_head variable: (name) @local.definition.parameter)
(junction) @local.definition.var

(declaration kind: (part_name) @local.reference)
(dotted_name . (name) @local.reference)
(value_name . (name) @local.reference)
