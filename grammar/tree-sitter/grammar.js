/// The tree-sitter grammar of the Ohmline notation.
///
/// What a letter is, which words are reserved and where a line ends is decided in src/scanner.c; the words come from the
/// project's one inventory, through words.js and src/words.h.

const WORDS = require('./words.js');

// A rule, or nothing where the line ends before it.
//
// Wherever a line cannot end, `missing` can stand, empty, where it does end all the same. So a half-written line is closed by as many
// of them as it takes, and never takes the next line with it.
const due = ($, rule) => choice(rule, $.missing);

const list = ($, rule) => seq(rule, repeat(seq(',', due($, rule))));

module.exports = grammar({
  name: 'ohmline',

  extras: ($) => [
    // The blanks of the lexer; a line end is not among them.
    /[ \t\u000B\u000C\u00A0\u1680\u2000-\u200A\u202F\u205F\u3000\uFEFF]+/,
    $.comment,
    $.doc_comment,
    $.allow_comment,
    $._continuation,
  ],

  // In the order of the tokens in src/scanner.c; the keywords come last, in the order of src/words.h.
  externals: ($) => [
    $._newline,
    $._end_of_file,
    $._continuation,
    $.name,
    $._reserved_name,
    $._touching_name,
    $.kind,
    $.unit,
    $._defining_equals,
    $.junction,
    $.wire,
    $._sign_behind,
    $._allowing,
    $.allow,
    $.rule,
    $._allowed,
    $.missing,
    $._never,
    ...WORDS.keywords,
  ],

  supertypes: ($) => [$._statement, $._expression, $._item, $._point],

  rules: {
    source_file: ($) =>
      repeat(choice($._newline, $._line, $.part_definition, $.repeat_block, seq($.end_statement, $._end_of_line))),

    _line: ($) => seq($._statement, $._end_of_line),

    _end_of_line: ($) => choice($._newline, $._end_of_file),

    _statement: ($) =>
      choice(
        $.circuit_statement,
        $.include_statement,
        $.let_statement,
        $.declaration,
        $.path,
        $.reference_statement,
        $.find_statement,
        $.given_statement,
        $.measured_statement,
        $.claim_statement,
        $.case_statement,
      ),

    circuit_statement: ($) => seq('circuit', due($, field('title', $.text))),

    include_statement: ($) => seq('include', due($, field('file', $.text))),

    let_statement: ($) =>
      seq(
        'let',
        due(
          $,
          seq(
            field('name', $._word),
            due($, seq(alias($._defining_equals, '='), due($, field('value', $.value)))),
          ),
        ),
      ),

    reference_statement: ($) => seq('reference', due($, field('point', $._point))),

    find_statement: ($) => seq('find', due($, seq(field('quantity', $.quantity), optional($._in_case)))),

    given_statement: ($) => seq('given', due($, seq($._stated, optional($._in_case)))),

    measured_statement: ($) => seq('measured', due($, seq($._stated, optional($._within), optional($._in_case)))),

    claim_statement: ($) =>
      seq(
        'claim',
        due(
          $,
          seq(choice(seq($._stated, optional($._within)), field('relation', $.relation)), optional($._in_case)),
        ),
      ),

    case_statement: ($) =>
      seq('case', due($, seq(field('name', $.text), due($, seq(':', due($, list($, $.assignment))))))),

    // Blocks. A missing `end` is no error here: a `part` line or the end of the file closes a block.

    part_definition: ($) =>
      prec.right(
        seq(
          field('head', $.part_head),
          $._end_of_line,
          repeat(choice($._newline, $._line, $.repeat_block)),
          optional(seq($.end_statement, $._end_of_line)),
        ),
      ),

    part_head: ($) =>
      seq(
        'part',
        due(
          $,
          seq(
            field('name', $.name),
            due(
              $,
              seq(
                '(',
                due($, list($, field('port', $._word))),
                due($, ')'),
                repeat(seq(',', due($, field('parameter', $.option)))),
              ),
            ),
          ),
        ),
      ),

    repeat_block: ($) =>
      prec.right(
        seq(
          field('head', $.repeat_head),
          $._end_of_line,
          repeat(choice($._newline, $._line, $.repeat_block)),
          optional(seq($.end_statement, $._end_of_line)),
        ),
      ),

    repeat_head: ($) =>
      seq(
        'repeat',
        due(
          $,
          seq(
            field('variable', $.name),
            due(
              $,
              seq(
                'from',
                due($, field('from', $._expression)),
                due($, seq('to', due($, field('to', $._expression)))),
              ),
            ),
          ),
        ),
      ),

    end_statement: (_) => 'end',

    // Declarations. `, NAME` is one more name when `,`, `=` or the end of the line follows; else it begins an option.

    declaration: ($) =>
      seq(
        choice(
          seq(field('kind', $.kind), due($, field('name', $.name))),
          // A name alone on its line begins a path.
          seq(field('kind', alias($.name, $.part_name)), field('name', $.name)),
        ),
        repeat(seq(',', field('name', $.name))),
        optional(seq(alias($._defining_equals, '='), due($, field('value', $.value)))),
        repeat(seq(',', due($, field('option', $.option)))),
      ),

    option: ($) => seq(field('name', $._word), due($, field('value', $.value))),

    assignment: ($) =>
      seq(
        field('target', alias($._any_dotted_name, $.dotted_name)),
        due($, seq('=', due($, field('value', $.value)))),
      ),

    // Values.

    value: ($) => seq(choice($.unknown, $._expression), optional(seq('at', due($, field('at', $._expression))))),

    unknown: ($) => seq('?', optional(field('unit', $.unit))),

    _expression: ($) => choice($.literal, $.value_name, $.negation, $.operation, $.bracketed),

    literal: ($) => seq($.number, optional(field('unit', $.unit))),

    value_name: ($) => $._any_dotted_name,

    negation: ($) => prec(3, seq($._minus, due($, field('operand', $._expression)))),

    operation: ($) =>
      choice(
        ...[
          [choice('*', '/'), 2],
          [choice('+', $._minus), 1],
        ].map(([operator, strength]) =>
          prec.left(
            strength,
            seq(field('left', $._expression), field('operator', operator), due($, field('right', $._expression))),
          ),
        ),
      ),

    bracketed: ($) => seq('(', due($, $._expression), due($, ')'), optional(field('unit', $.unit))),

    _minus: (_) => choice('-', '\u2212'),

    // Paths.

    path: ($) => seq($._item, due($, seq($.wire, due($, $._item))), repeat(seq($.wire, due($, $._item)))),

    segment: ($) => seq($._item, repeat(seq($.wire, due($, $._item)))),

    _item: ($) => choice($.junction, $.element, $.group),

    element: ($) =>
      choice(
        seq(field('target', $.dotted_name), optional(field('after', alias($._sign_behind, $.sign)))),
        seq(
          field('before', $.sign),
          due(
            $,
            seq(
              field('target', alias($._touching_dotted_name, $.dotted_name)),
              due($, field('after', alias($._sign_behind, $.sign))),
            ),
          ),
        ),
      ),

    group: ($) =>
      seq('(', due($, $.segment), due($, seq('|', due($, $.segment))), repeat(seq('|', due($, $.segment))), due($, ')')),

    sign: (_) => choice('+', '-', '\u2212'),

    // Questions and claims.

    _stated: ($) =>
      seq(
        field('quantity', alias($._one_quantity, $.quantity)),
        due($, seq('=', due($, field('value', $._expression)))),
      ),

    // Several elements can be asked for in one line, but not stated.
    quantity: ($) => seq(quantityOf($, list($, $.dotted_name)), optional($._after)),

    _one_quantity: ($) => seq(quantityOf($, $.dotted_name), optional($._after)),

    _after: ($) => seq('after', due($, field('after', $._expression))),

    _within: ($) => seq('within', due($, field('within', $._expression))),

    _in_case: ($) => seq('in', due($, field('case', $.text))),

    relation: ($) =>
      seq($._members, due($, seq('in', due($, field('kind', choice('series', 'parallel')))))),

    // A single element stands in no relation.
    _members: ($) => choice($.bunch, seq($._member, repeat1(seq(',', due($, $._member))))),

    _member: ($) => choice($.dotted_name, $.bunch),

    bunch: ($) =>
      seq(
        '(',
        due($, $.dotted_name),
        due($, seq(',', due($, $.dotted_name))),
        repeat(seq(',', due($, $.dotted_name))),
        due($, ')'),
      ),

    _point: ($) => choice($.junction, $.terminal),

    terminal: ($) => seq($.dotted_name, optional(alias($._sign_behind, $.sign))),

    // Names. Any word is free behind a dot, as a port, as an option and as the name of a value.

    dotted_name: ($) => seq($.name, repeat(seq('.', due($, $._word)))),

    _touching_dotted_name: ($) => seq(alias($._touching_name, $.name), repeat(seq('.', due($, $._word)))),

    _any_dotted_name: ($) => seq($._word, repeat(seq('.', due($, $._word)))),

    _word: ($) => choice($.name, alias($._reserved_name, $.name)),

    // Letters that touch a number belong to it.
    number: (_) => /[0-9]+(\.[0-9]+)?([eE][+\-\u2212]?[0-9]+)?(\p{L}+[0-9]*)?/u,

    text: (_) => /"[^"\r\n]*"/,

    // A comment that allows what rules find: the word and the rules stand out from it.
    allow_comment: ($) => seq($._allowing, $.allow, repeat1($.rule), $._allowed),

    comment: (_) => token(/#[^\r\n]*/),

    doc_comment: (_) => token(prec(1, /##[^\r\n]*/)),
  },
});

function quantityOf($, names) {
  const point = () => due($, $._point);
  const pair = (first, second) => seq(first, point(), due($, seq(second, point())));
  return choice(
    seq('current', due($, choice(seq('through', due($, names)), seq('into', point())))),
    seq('voltage', due($, choice(seq('across', due($, names)), pair('from', 'to')))),
    seq('potential', due($, seq('at', point()))),
    seq('resistance', due($, choice(pair('between', 'and'), seq('seen', due($, seq('by', due($, $.dotted_name))))))),
    seq('capacitance', due($, pair('between', 'and'))),
    seq(choice('power', 'charge', 'energy', 'value'), due($, seq('of', due($, names)))),
  );
}
