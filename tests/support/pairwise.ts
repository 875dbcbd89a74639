/** Names of dimensions with their values. */
export type Dimensions = Readonly<Record<string, readonly string[]>>;

/** One value of each dimension. */
export type Cell<D extends Dimensions> = { readonly [K in keyof D]: D[K][number] };

/** Two values that do not go together: a cell that has both cannot be built. */
export type Excluded<D extends Dimensions> = (some: Partial<Cell<D>>) => boolean;

const pairKey = (a: string, x: string, b: string, y: string): string =>
  a < b ? `${a}=${x} ${b}=${y}` : `${b}=${y} ${a}=${x}`;

/** Every pair of values of two dimensions that goes together, as a text. */
export function pairsOf<D extends Dimensions>(dimensions: D, excluded: Excluded<D>): Set<string> {
  const names = Object.keys(dimensions);
  const pairs = new Set<string>();
  for (const [i, a] of names.entries())
    for (const b of names.slice(i + 1))
      for (const x of dimensions[a] ?? [])
        for (const y of dimensions[b] ?? [])
          if (!excluded({ [a]: x, [b]: y } as Partial<Cell<D>>)) pairs.add(pairKey(a, x, b, y));
  return pairs;
}

/** The pairs of values one cell has. */
export function pairsIn<D extends Dimensions>(cell: Partial<Cell<D>>): string[] {
  const entries = Object.entries(cell) as [string, string][];
  return entries.flatMap(([a, x], i) => entries.slice(i + 1).map(([b, y]) => pairKey(a, x, b, y)));
}

/**
 * Cells in which every pair of values that goes together occurs at least once: each begins with a pair that is still missing and
 * takes, dimension by dimension, the value with which most missing pairs are met. Throws where a pair cannot be completed.
 */
export function pairwise<D extends Dimensions>(dimensions: D, excluded: Excluded<D>, random: () => number): Cell<D>[] {
  const missing = pairsOf(dimensions, excluded);
  const cells: Cell<D>[] = [];
  while (missing.size > 0) {
    const [first = ''] = missing;
    const start = Object.fromEntries(first.split(' ').map((part) => part.split('=') as [string, string]));
    const cell = complete(dimensions, excluded, start as Partial<Cell<D>>, missing, random);
    if (cell === null) throw new Error(`No cell has ${first}.`);
    for (const pair of pairsIn<D>(cell)) missing.delete(pair);
    cells.push(cell);
  }
  return cells;
}

function complete<D extends Dimensions>(
  dimensions: D,
  excluded: Excluded<D>,
  some: Partial<Cell<D>>,
  missing: ReadonlySet<string>,
  random: () => number,
): Cell<D> | null {
  const name = Object.keys(dimensions).find((each) => some[each] === undefined);
  if (name === undefined) return some as Cell<D>;
  const gain = (cell: Partial<Cell<D>>): number => pairsIn<D>(cell).filter((pair) => missing.has(pair)).length;
  const next = (dimensions[name] ?? [])
    .map((value) => ({ ...some, [name]: value }))
    .filter((cell) => !excluded(cell))
    .map((cell) => ({ cell, worth: gain(cell) + random() }))
    .toSorted((a, b) => b.worth - a.worth);
  for (const { cell } of next) {
    const done = complete(dimensions, excluded, cell, missing, random);
    if (done !== null) return done;
  }
  return null;
}
