// The pages that panels show: nothing from outside, and no script but the one that a page of the server brings along.

/** Replaces what has a meaning in HTML. */
export function escape(text: string): string {
  return text.replace(/[&<>"']/g, (sign) => `&#${sign.charCodeAt(0)};`);
}

/** A page may have styles and pictures of its own, and nothing else. */
const POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; font-src data:";

const policy = (script = '') =>
  `<meta http-equiv="Content-Security-Policy" content="${POLICY}${script === '' ? '' : `; script-src 'nonce-${script}'`}">`;

function page(title: string, style: string, body: string): string {
  return `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
${policy()}
<title>${escape(title)}</title>
<style>${style}</style>
</head>
<body>
${body}
</body>
</html>`;
}

/** A page with a drawing, and a line of text above it. */
export function drawingPage(title: string, svg: string, note: string): string {
  // As a picture, so that nothing in it can run or load anything.
  const picture = Buffer.from(svg, 'utf8').toString('base64');
  const described = /<desc[^>]*>([^<]*)<\/desc>/.exec(svg)?.[1] ?? title;
  return page(
    title,
    'body { margin: 0; padding: 1rem; } p { margin: 0 0 1rem; opacity: .75; } img { display: block; margin: auto; max-width: 100%; max-height: 90vh; }',
    `${note === '' ? '' : `<p>${escape(note)}</p>`}\n<img src="data:image/svg+xml;base64,${picture}" alt="${escape(unescape(described))}">`,
  );
}

/** How a page of the command is shown. */
export interface Manner {
  readonly dark: boolean;
  /** A word that nobody can guess, by which the script of the page is known; without it the page is for reading only. */
  readonly nonce?: string;
}

/**
 * Takes over the next version of the page and keeps the place: the step, the element, how far it is scrolled. What comes is parsed
 * and never run.
 */
const FOLLOW = `
window.addEventListener('message', ({ data }) => {
  const next = new DOMParser().parseFromString(data.html, 'text/html');
  const [now, then] = [document.getElementById('main'), next.getElementById('main')];
  if (!now || !then || !window.ohmlinePage) return;
  const place = window.ohmlinePage.place();
  document.title = next.title;
  for (const name of ['h1', 'head > style:last-of-type']) {
    const [own, other] = [document.querySelector(name), next.querySelector(name)];
    if (own && other && own.textContent !== other.textContent) own.textContent = other.textContent;
  }
  now.replaceWith(then);
  window.ohmlinePage.restore(place);
});
acquireVsCodeApi().postMessage('ready');
`;

/** A page that the command made, in the colors of the editor, with the policy in its head. */
export function commandPage(html: string, manner: Manner): string {
  const head = /<head>/i.exec(html);
  if (head === null) {
    return page('', '', `<pre>${escape(html)}</pre>`);
  }
  const at = head.index + head[0].length;
  let end = html.slice(at);
  // The script of the page is the last thing in it; whatever else might look like one gets no leave to run.
  const script = end.lastIndexOf('<script>');
  if (manner.nonce !== undefined && script !== -1) {
    end = `${end.slice(0, script)}<script nonce="${manner.nonce}">${end.slice(script + '<script>'.length)}`;
    const close = end.lastIndexOf('</body>');
    if (close !== -1) {
      end = `${end.slice(0, close)}<script nonce="${manner.nonce}">${FOLLOW}</script>\n${end.slice(close)}`;
    }
  }
  // A panel is narrow, and its colors are those of the editor.
  const hidden = manner.nonce === undefined ? '.controls, noscript' : '#light';
  const style = `<style>${hidden} { display: none !important; } .stage svg { max-width: 100% !important; height: auto !important; }</style>`;
  const start = html.slice(0, at).replace(/<html\b/i, `<html data-theme="${manner.dark ? 'dark' : 'light'}"`);
  return `${start}\n${policy(manner.nonce)}\n${style}${end}`;
}

/** A page that says why there is nothing else to show. */
export function messagePage(title: string, text: string): string {
  return page(title, 'body { padding: 1rem; } pre { white-space: pre-wrap; }', `<pre>${escape(text)}</pre>`);
}

function unescape(text: string): string {
  const named: Record<string, string> = { amp: '&', lt: '<', gt: '>', quot: '"', apos: "'" };
  return text.replace(/&(#\d+|#x[0-9a-f]+|\w+);/gi, (whole, name: string) => {
    if (name.startsWith('#')) {
      const hex = name[1] === 'x' || name[1] === 'X';
      return String.fromCodePoint(Number.parseInt(name.slice(hex ? 2 : 1), hex ? 16 : 10));
    }
    return named[name] ?? whole;
  });
}
