// The pages that panels show: no script, nothing from outside.

/** Replaces what has a meaning in HTML. */
export function escape(text: string): string {
  return text.replace(/[&<>"']/g, (sign) => `&#${sign.charCodeAt(0)};`);
}

/** A page may have styles and pictures of its own, and nothing else. */
const POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; font-src data:";

const policy = (frames = '') =>
  `<meta http-equiv="Content-Security-Policy" content="${POLICY}${frames === '' ? '' : `; frame-src ${frames}`}">`;

function page(title: string, style: string, body: string, frames = ''): string {
  return `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
${policy(frames)}
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

/** A page that the server made, with the policy in its head. */
export function guarded(html: string): string {
  const head = /<head[^>]*>/i.exec(html);
  if (head === null) {
    return page('', '', escape(html));
  }
  const at = head.index + head[0].length;
  return `${html.slice(0, at)}\n${policy()}${html.slice(at)}`;
}

/** A page that says why there is nothing else to show. */
export function messagePage(title: string, text: string): string {
  return page(title, 'body { padding: 1rem; } pre { white-space: pre-wrap; }', `<pre>${escape(text)}</pre>`);
}

/** A page of the server on this machine, in a frame of its own. */
export function framePage(title: string, address: string): string {
  const origin = new URL(address).origin;
  return page(
    title,
    'html, body { margin: 0; padding: 0; height: 100%; } iframe { border: 0; width: 100%; height: 100vh; }',
    `<iframe src="${escape(address)}" title="${escape(title)}" sandbox="allow-scripts allow-same-origin allow-downloads"></iframe>`,
    escape(origin),
  );
}

/** Whether an address is one of this machine. */
export function isLoopback(address: string): boolean {
  try {
    const url = new URL(address);
    return url.protocol === 'http:' && ['127.0.0.1', 'localhost', '[::1]'].includes(url.hostname);
  } catch {
    return false;
  }
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
