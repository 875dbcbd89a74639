import { UNKNOWN } from '../../../libs/genetics/index.js';
import type { Defect } from './defects.js';
import type { PedigreeFile, PedigreeRow } from './read-csv.js';

/** The animals of a file with their parents by number: what the mathematics needs. */
export interface NumberedAnimals {
  /** Id of each animal: those with a row in the order of the file, then parents without one. */
  readonly ids: readonly string[];
  readonly numberOf: ReadonlyMap<string, number>;
  /** The first row of each animal; parents without a row have none and stand after all others. */
  readonly rows: readonly PedigreeRow[];
  readonly sire: Int32Array;
  readonly dam: Int32Array;
  /** How many parents were written as a sign for "not known" rather than left blank. */
  readonly unknownMarks: number;
}

/** Signs that stock books write for a parent that is not known (common practice, no published source). */
const UNKNOWN_MARKS = new Set(['0', '?', '-', 'unknown', 'n/a']);

/**
 * Gives each animal a number and finds its parents.
 *
 * A blank parent is not known; so is 0, ?, -, unknown or n/a, unless an animal of the file has that very id: taken for
 * an animal, such a sign would make half siblings of all who bear it. Any other parent without a row is added as a
 * founder. Where an id has several rows the first counts.
 *
 * @returns the animals, with the defects `missing_row` and `duplicate_id`
 */
export function numberAnimals({ rows }: PedigreeFile): { animals: NumberedAnimals; defects: Defect[] } {
  const numberOf = new Map<string, number>();
  const firstRows: PedigreeRow[] = [];
  const ids: string[] = [];
  const repeated = new Map<string, PedigreeRow[]>();
  for (const row of rows) {
    const known = numberOf.get(row.id);
    if (known === undefined) {
      numberOf.set(row.id, ids.length);
      ids.push(row.id);
      firstRows.push(row);
    } else {
      const sameId = repeated.get(row.id);
      if (sameId) sameId.push(row);
      else repeated.set(row.id, [firstRows[known] as PedigreeRow, row]);
    }
  }

  const sire = new Int32Array(ids.length);
  const dam = new Int32Array(ids.length);
  const offspringOf = new Map<string, { first: string; count: number }>();
  let unknownMarks = 0;
  const parentNumber = (name: string, child: string): number => {
    if (name === '') return UNKNOWN;
    const known = numberOf.get(name);
    if (known !== undefined && known < firstRows.length) return known;
    if (known === undefined && UNKNOWN_MARKS.has(name.toLowerCase())) {
      unknownMarks++;
      return UNKNOWN;
    }
    const offspring = offspringOf.get(name);
    if (offspring) offspring.count++;
    else offspringOf.set(name, { first: child, count: 1 });
    if (known !== undefined) return known;
    numberOf.set(name, ids.length);
    ids.push(name);
    return ids.length - 1;
  };
  firstRows.forEach((row, i) => {
    sire[i] = parentNumber(row.sire, row.id);
    dam[i] = parentNumber(row.dam, row.id);
  });

  const total = ids.length;
  const animals: NumberedAnimals = {
    ids,
    numberOf,
    rows: firstRows,
    sire: padded(sire, total),
    dam: padded(dam, total),
    unknownMarks,
  };
  return { animals, defects: [...repeatedIds(repeated), ...missingRows(offspringOf)] };
}

/** Parents without a row are founders: nothing is known above them. */
function padded(parents: Int32Array, total: number): Int32Array {
  const all = new Int32Array(total).fill(UNKNOWN);
  all.set(parents);
  return all;
}

function repeatedIds(repeated: ReadonlyMap<string, readonly PedigreeRow[]>): Defect[] {
  return [...repeated].map(([id, rows]) => {
    const [first, ...others] = rows.map(entries);
    const lines = rows.map((row) => row.line).join(', ');
    return others.every((other) => other === first)
      ? {
          kind: 'duplicate_id',
          ids: [id],
          message: `"${id}" stands on lines ${lines} with the same entries; it is counted once. Remove the repeated line.`,
          refuses: false,
        }
      : {
          kind: 'duplicate_id',
          ids: [id],
          message: `"${id}" stands on lines ${lines} with different entries. Give one of the animals another id, or keep the line that is right.`,
          refuses: true,
        };
  });
}

/** The entries of a row as one text; blank cells at its end count for nothing. */
function entries({ cells }: PedigreeRow): string {
  return JSON.stringify(cells.slice(0, cells.findLastIndex((cell) => cell !== '') + 1));
}

function missingRows(offspringOf: ReadonlyMap<string, { first: string; count: number }>): Defect[] {
  return [...offspringOf].map(([id, { first, count }]) => ({
    kind: 'missing_row',
    ids: [id],
    message:
      `"${id}" is named as a parent of "${first}"${count > 1 ? ` and ${count - 1} more` : ''} but has no line; ` +
      'it was added as a founder. Add its line, correct the name, or leave the parent blank if it is not known.',
    refuses: false,
  }));
}
