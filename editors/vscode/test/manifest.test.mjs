// The manifest says what the code does, and every file that it names is there.

import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { test } from 'node:test';
import { fileURLToPath } from 'node:url';

const folder = path.join(path.dirname(fileURLToPath(import.meta.url)), '..');
const read = (name) => fs.readFileSync(path.join(folder, name), 'utf8');
const manifest = JSON.parse(read('package.json'));
const { contributes } = manifest;

test('every file that is named is there', () => {
  const named = [
    manifest.icon,
    ...contributes.languages.flatMap((language) => [language.configuration, language.icon.light, language.icon.dark]),
    ...contributes.grammars.map((grammar) => grammar.path),
    ...contributes.snippets.map((snippets) => snippets.path),
  ];
  for (const name of named) {
    assert.ok(fs.existsSync(path.join(folder, name)), name);
  }
});

test('every command is registered, and no other', () => {
  const source = read('src/extension.ts');
  const registered = [...source.matchAll(/registerCommand\('([^']+)'/g)].map((match) => match[1]).sort();
  assert.deepEqual(registered, contributes.commands.map((command) => command.command).sort());
});

test('Markdown wakes the extension, and a folder alone does not', () => {
  assert.deepEqual(manifest.activationEvents, ['onLanguage:markdown']);
});

test('the path of the server is for the machine alone', () => {
  assert.equal(contributes.configuration.properties['ohmline.server.path'].scope, 'machine');
});

test('snippets have a prefix and a body, and their places are numbered without gaps', () => {
  const snippets = Object.entries(JSON.parse(read('snippets/ohmline.json')));
  assert.ok(snippets.length >= 12);
  for (const [name, snippet] of snippets) {
    assert.ok(snippet.prefix, name);
    const body = [snippet.body].flat().join('\n');
    const places = [...body.matchAll(/\$\{?(\d+)/g)].map((match) => Number(match[1])).filter((place) => place > 0);
    assert.deepEqual([...new Set(places)].sort((a, b) => a - b), Array.from({ length: Math.max(...places) }, (_, index) => index + 1), name);
  }
});

test('the pattern for a word takes names and junctions whole', () => {
  const { wordPattern } = JSON.parse(read('language-configuration.json'));
  const pattern = new RegExp(wordPattern.pattern, `g${wordPattern.flags}`);
  assert.deepEqual('B1+ -- @fork -- Rα'.match(pattern), ['B1', '@fork', 'Rα']);
});

test('the lock file names packages, not addresses', () => {
  assert.doesNotMatch(read('package-lock.json'), /"resolved"|https?:\/\/[^"]*\.tgz/);
});
