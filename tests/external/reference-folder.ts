import { existsSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe } from '@jest/globals';

/** Pedigrees and values made outside the project: KITHBOOK_REFERENCE, else beside the repository. May be absent. */
export const referenceFolder = resolve(
  process.env['KITHBOOK_REFERENCE'] ?? join(import.meta.dirname, '../../../shared/reference'),
);

const isThere = existsSync(join(referenceFolder, 'checks.json'));

/**
 * A suite that needs the reference folder. Without the folder it is reported as skipped, by name; where
 * KITHBOOK_REFERENCE_REQUIRED=1 asks for the folder, it runs and fails.
 */
export function describeWithReference(name: string, suite: () => void): void {
  if (isThere || process.env['KITHBOOK_REFERENCE_REQUIRED'] === '1') describe(name, suite);
  else describe.skip(`${name} (reference folder absent)`, suite);
}

/** Path of a file in the folder. */
export function referencePath(name: string): string {
  return join(referenceFolder, name);
}

/**
 * A table of the folder as objects by column; values are trimmed text.
 *
 * @throws when the file is not there
 */
export function referenceTable(name: string): Record<string, string>[] {
  const [header = '', ...lines] = readFileSync(referencePath(name), 'utf8').split(/\r?\n/);
  const columns = header.split(',');
  return lines
    .filter((line) => line !== '')
    .map((line) => {
      const cells = line.split(',');
      return Object.fromEntries(columns.map((column, at) => [column, (cells[at] ?? '').trim()]));
    });
}
