// Which program is the language server.

import { access, constants } from 'node:fs/promises';
import * as path from 'node:path';

/** Where a server was found, and by what. */
export interface Found {
  readonly program: string;
  readonly by: 'setting' | 'bundle' | 'path';
}

/** What is looked at; given by the editor, or by a test. */
export interface Places {
  /** The setting `ohmline.server.path`; empty when it is not set. */
  readonly setting: string;
  /** The folder of the extension. */
  readonly extension: string;
  /** The search path. */
  readonly path: string;
  readonly windows: boolean;
  readonly home: string;
}

/** The server: by setting, else the one that comes with the extension, else the first on the search path. */
export async function findServer(places: Places): Promise<Found | undefined> {
  if (places.setting !== '') {
    // A setting that points nowhere is said so; another program is never started in its place.
    const program = places.setting.replace(/^~(?=\/|\\|$)/, places.home);
    return (await isProgram(program)) ? { program, by: 'setting' } : undefined;
  }
  const name = places.windows ? 'ohmline.exe' : 'ohmline';
  const bundled = path.join(places.extension, 'server', name);
  if (await isProgram(bundled)) {
    return { program: bundled, by: 'bundle' };
  }
  for (const folder of places.path.split(places.windows ? ';' : ':')) {
    // A relative entry would depend on the folder that is open.
    if (folder !== '' && path.isAbsolute(folder) && (await isProgram(path.join(folder, name)))) {
      return { program: path.join(folder, name), by: 'path' };
    }
  }
  return undefined;
}

async function isProgram(file: string): Promise<boolean> {
  if (!path.isAbsolute(file)) {
    return false;
  }
  try {
    await access(file, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}
