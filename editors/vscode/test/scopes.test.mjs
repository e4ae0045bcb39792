// The TextMate grammar, read by the same library as the editor uses.

import assert from 'node:assert/strict';
import fs from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { test } from 'node:test';
import { fileURLToPath } from 'node:url';

const require = createRequire(import.meta.url);
const oniguruma = require('vscode-oniguruma');
const textmate = require('vscode-textmate');
const here = path.dirname(fileURLToPath(import.meta.url));
const root = path.join(here, '../../..');

const wasm = fs.readFileSync(path.join(path.dirname(require.resolve('vscode-oniguruma/package.json')), 'release/onig.wasm'));
const onigLib = oniguruma.loadWASM(wasm.buffer.slice(wasm.byteOffset, wasm.byteOffset + wasm.byteLength)).then(() => ({
  createOnigScanner: (patterns) => new oniguruma.OnigScanner(patterns),
  createOnigString: (text) => new oniguruma.OnigString(text),
}));
const registry = new textmate.Registry({
  onigLib,
  loadGrammar: async (scope) => {
    if (scope !== 'source.ohmline') return null;
    const file = path.join(here, '../syntaxes/ohmline.tmLanguage.json');
    return textmate.parseRawGrammar(fs.readFileSync(file, 'utf8'), file);
  },
});

/** Each token of a text with the innermost scope, `.ohmline` left out; blanks are skipped. */
async function scopes(text) {
  const grammar = await registry.loadGrammar('source.ohmline');
  const found = [];
  let stack = textmate.INITIAL;
  for (const line of text.split('\n')) {
    const result = grammar.tokenizeLine(line, stack);
    stack = result.ruleStack;
    for (const token of result.tokens) {
      const word = line.slice(token.startIndex, token.endIndex);
      if (word.trim() !== '') {
        found.push([word.trim(), token.scopes.at(-1).replace(/\.ohmline$/, '')]);
      }
    }
  }
  return found;
}

/** Fails unless these words have these scopes, in this order; words that are not named may be anything. */
async function expect(text, wanted) {
  const found = await scopes(text);
  let at = 0;
  for (const [word, scope] of wanted) {
    const next = found.findIndex(([other], index) => index >= at && other === word);
    assert.notEqual(next, -1, `\`${word}\` is no token of its own behind the ${at}th of ${JSON.stringify(found)}`);
    assert.equal(found[next][1], scope, `\`${word}\` in ${JSON.stringify(text)}`);
    at = next + 1;
  }
}

test('a comment that allows rules', async () => {
  await expect('lamp L1 # allow dead-end, split-series: the class is to find it', [
    ['#', 'comment.line.number-sign'],
    ['allow', 'keyword.other.allow'],
    ['dead-end', 'entity.name.tag.rule'],
    ['split-series', 'entity.name.tag.rule'],
    [': the class is to find it', 'comment.line.number-sign'],
  ]);
  await expect('# allow us to say: nothing', [['# allow us to say: nothing', 'comment.line.number-sign']]);
});

test('a declaration', () =>
  expect('battery B1, B2 = 4.5 V, internal 2 ohm, limit 3A # note', [
    ['battery', 'storage.type'],
    ['B1', 'variable.other.definition'],
    ['B2', 'variable.other.definition'],
    ['=', 'keyword.operator.assignment'],
    ['4.5', 'constant.numeric'],
    ['V', 'keyword.other.unit'],
    ['internal', 'support.type.property-name'],
    ['2', 'constant.numeric'],
    ['ohm', 'keyword.other.unit'],
    ['limit', 'support.type.property-name'],
    ['3', 'constant.numeric'],
    ['A', 'keyword.other.unit'],
    ['# note', 'comment.line.number-sign'],
  ]));

test('letter codes, percent, prefixes and the ohm sign', () =>
  expect('potentiometer P1 = 4k7 at 40%, rating 500 mW\nresistor R1 = 47 kΩ', [
    ['4', 'constant.numeric'],
    ['k7', 'keyword.other.unit'],
    ['at', 'keyword.other'],
    ['40', 'constant.numeric'],
    ['%', 'keyword.other.unit'],
    ['rating', 'support.type.property-name'],
    ['mW', 'keyword.other.unit'],
    ['kΩ', 'keyword.other.unit'],
  ]));

test('a word behind a number that is no unit is no unit', async () => {
  await expect('resistor R1 = 9 parsec', [['9', 'constant.numeric'], ['parsec', 'variable.other']]);
});

test('a path over two lines', () =>
  expect('B1+ -- ( R1 -- @left\n       | -A1+ ) -- Left.D1', [
    ['B1', 'variable.other'],
    ['+', 'keyword.operator.polarity'],
    ['--', 'keyword.operator.wire'],
    ['(', 'keyword.operator.group'],
    ['R1', 'variable.other'],
    ['@left', 'entity.name.label'],
    ['|', 'keyword.operator.group'],
    ['-', 'keyword.operator.polarity'],
    ['A1', 'variable.other'],
    ['+', 'keyword.operator.polarity'],
    ['D1', 'variable.other.property'],
  ]));

test('questions and claims', () =>
  expect('claim current through R1 = 0.30 A within 2% in "night"\nfind voltage from @a to B1-', [
    ['claim', 'keyword.control'],
    ['current', 'support.function'],
    ['through', 'keyword.other'],
    ['R1', 'variable.other'],
    ['0.30', 'constant.numeric'],
    ['A', 'keyword.other.unit'],
    ['within', 'keyword.other'],
    ['in', 'keyword.other'],
    ['"night"', 'string.quoted.double'],
    ['find', 'keyword.control'],
    ['voltage', 'support.function'],
    ['from', 'keyword.other'],
    ['@a', 'entity.name.label'],
    ['to', 'keyword.other'],
    ['-', 'keyword.operator.polarity'],
  ]));

test('words that are free as names are names in a path', async () => {
  await expect('in -- at -- @value -- Left.power', [
    ['in', 'variable.other'],
    ['at', 'variable.other'],
    ['@value', 'entity.name.label'],
    ['power', 'variable.other.property'],
  ]);
});

test('parts, repeats, values and cases', () =>
  expect('part lantern(in, out), dropper 33 ohm\nlantern Left\nrepeat k from 1 to 6\n  lamp L{k} = ? kohm\nend\nlet supply = 4.5 V\ncase "night": S1 = open, B1.internal = 2 ohm', [
    ['part', 'keyword.control'],
    ['lantern', 'entity.name.type'],
    ['dropper', 'variable.parameter'],
    ['lantern', 'entity.name.type'],
    ['Left', 'variable.other.definition'],
    ['repeat', 'keyword.control'],
    ['k', 'variable.parameter'],
    ['from', 'keyword.other'],
    ['lamp', 'storage.type'],
    ['L{k}', 'variable.other.definition'],
    ['?', 'constant.language'],
    ['kohm', 'keyword.other.unit'],
    ['end', 'keyword.control'],
    ['let', 'keyword.control'],
    ['supply', 'variable.other.definition'],
    ['case', 'keyword.control'],
    ['"night"', 'string.quoted.double'],
    ['open', 'constant.language'],
    ['internal', 'support.type.property-name'],
  ]));

test('documentation is told from remarks', () =>
  expect('## Pier lamps\n# note', [
    ['## Pier lamps', 'comment.line.documentation'],
    ['# note', 'comment.line.number-sign'],
  ]));

test('in every sample, every statement word and every kind is colored as one', async () => {
  const words = /^\s*(circuit|include|let|reference|claim|find|given|measured|case|part|repeat|end)\b/;
  let count = 0;
  for (const file of fs.readdirSync(path.join(root, 'samples')).filter((name) => name.endsWith('.ohmline'))) {
    for (const line of fs.readFileSync(path.join(root, 'samples', file), 'utf8').split('\n')) {
      const word = words.exec(line)?.[1];
      if (word === undefined) continue;
      const [first] = await scopes(line);
      assert.deepEqual(first, [word, 'keyword.control'], `${file}: ${line}`);
      count += 1;
    }
  }
  assert.ok(count > 150, `only ${count} statements`);
});
