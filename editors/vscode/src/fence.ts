// Whether a Markdown document holds circuits: a glance, so that documents of others start no server.

/** A fence marked `ohmline` (CommonMark 0.31.2, section 4.5), also in quotes and lists. */
const FENCE = /^[ \t>*+\-0-9.)]*(?:`{3,}|~{3,})[ \t]*ohmline(?![^\s:{,?])/im;

export function holdsCircuits(text: string): boolean {
  return FENCE.test(text);
}
