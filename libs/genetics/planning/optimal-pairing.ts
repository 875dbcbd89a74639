/** Who may be paired at what cost. */
export interface PairingProblem {
  /** rows × columns, row-major; lower is better, may be negative; Infinity = this pair is not allowed. */
  readonly cost: Float64Array;
  readonly rows: number;
  readonly columns: number;
  /** Greatest number of different mates of each row; absent: one each. */
  readonly rowLimit?: Int32Array;
  /** Greatest number of different mates of each column; absent: one each. */
  readonly columnLimit?: Int32Array;
}

/** Pair k is row `row[k]` with column `column[k]`, ordered by row, then column. */
export interface Pairing {
  readonly row: Int32Array;
  readonly column: Int32Array;
  /** Sum of the costs of the pairs. */
  readonly cost: number;
}

const NOBODY = -1;

/**
 * The pairing with the greatest number of pairs that the limits and the forbidden pairs allow and, among all pairings
 * of that number, the least total cost (up to rounding). A row and a column meet at most once, whatever their limits.
 * The number of pairs comes first: a dear pair is made rather than left out; forbid it with Infinity if it must not be.
 * Equal inputs give equal results; of pairings that cost the same, lower indices are tried first.
 *
 * Hungarian method as successive shortest augmenting paths with potentials (Kuhn 1955; Jonker & Volgenant 1987): each
 * path adds one pair and keeps the cost least for that number. O(pairs · (rows + columns)²), so O(n³) with one mate each.
 * Limits per keeper are not part of it.
 *
 * @throws RangeError for a wrong length, a NaN or -Infinity cost, or a limit below 0
 */
export function optimalPairing(problem: PairingProblem): Pairing {
  const { cost, rows, columns } = problem;
  refuseBadProblem(problem);
  const rowLeft = problem.rowLimit?.slice() ?? new Int32Array(rows).fill(1);
  const columnLeft = problem.columnLimit?.slice() ?? new Int32Array(columns).fill(1);
  const paired = new Uint8Array(rows * columns);
  // Nodes: rows first, then columns. Along every open edge, cost + potential[from] - potential[to] >= 0.
  const potential = startingPotentials(cost, rows, columns);
  for (;;) {
    const { distance, before } = shortestPaths(problem, paired, rowLeft, potential);
    for (let node = 0; node < rows + columns; node++) {
      // What cannot be reached now never will be: later paths open edges only between reached nodes.
      if ((distance[node] as number) < Infinity)
        potential[node] = (potential[node] as number) + (distance[node] as number);
    }
    let end = NOBODY;
    for (let node = rows; node < rows + columns; node++) {
      if ((columnLeft[node - rows] as number) < 1 || distance[node] === Infinity) continue;
      if (end === NOBODY || (potential[node] as number) < (potential[end] as number)) end = node;
    }
    if (end === NOBODY) return collect(problem, paired);
    columnLeft[end - rows] = (columnLeft[end - rows] as number) - 1;
    let node = end;
    for (let from = before[node] as number; from !== NOBODY; from = before[node] as number) {
      const pair = node >= rows ? from * columns + node - rows : node * columns + from - rows;
      paired[pair] = (paired[pair] as number) ^ 1;
      node = from;
    }
    rowLeft[node] = (rowLeft[node] as number) - 1;
  }
}

/** Rows at 0, each column at its cheapest cost, so that no edge starts below zero although costs may be negative. */
function startingPotentials(cost: Float64Array, rows: number, columns: number): Float64Array {
  const potential = new Float64Array(rows + columns);
  for (let column = 0; column < columns; column++) {
    let least = Infinity;
    for (let row = 0; row < rows; row++) least = Math.min(least, cost[row * columns + column] as number);
    potential[rows + column] = least === Infinity ? 0 : least;
  }
  return potential;
}

/**
 * Dijkstra on a dense graph, from all rows that may take another mate: row to column over pairs not made, column to row
 * over pairs made. Distances are in reduced costs.
 */
function shortestPaths(
  { cost, rows, columns }: PairingProblem,
  paired: Uint8Array,
  rowLeft: Int32Array,
  potential: Float64Array,
): { distance: Float64Array; before: Int32Array } {
  const nodes = rows + columns;
  const distance = new Float64Array(nodes).fill(Infinity);
  const before = new Int32Array(nodes).fill(NOBODY);
  const settled = new Uint8Array(nodes);
  // The source stays at potential 0; a row with room left has never been moved above it.
  for (let row = 0; row < rows; row++)
    if ((rowLeft[row] as number) > 0) distance[row] = Math.max(0, -(potential[row] as number));
  for (;;) {
    let from = NOBODY;
    let nearest = Infinity;
    for (let node = 0; node < nodes; node++) {
      if (settled[node] === 0 && (distance[node] as number) < nearest) {
        from = node;
        nearest = distance[node] as number;
      }
    }
    if (from === NOBODY) return { distance, before };
    settled[from] = 1;
    const isRow = from < rows;
    const first = isRow ? rows : 0;
    const last = isRow ? nodes : rows;
    for (let to = first; to < last; to++) {
      const pair = isRow ? from * columns + to - rows : to * columns + from - rows;
      const price = cost[pair] as number;
      if (settled[to] === 1 || price === Infinity || (paired[pair] === 1) === isRow) continue;
      // Rounding may leave a reduced cost a hair below zero.
      const reduced = Math.max(0, (isRow ? price : -price) + (potential[from] as number) - (potential[to] as number));
      if (nearest + reduced < (distance[to] as number)) {
        distance[to] = nearest + reduced;
        before[to] = from;
      }
    }
  }
}

function collect({ cost, columns }: PairingProblem, paired: Uint8Array): Pairing {
  const row: number[] = [];
  const column: number[] = [];
  let total = 0;
  for (let pair = 0; pair < paired.length; pair++) {
    if (paired[pair] === 0) continue;
    row.push(Math.floor(pair / columns));
    column.push(pair % columns);
    total += cost[pair] as number;
  }
  return { row: Int32Array.from(row), column: Int32Array.from(column), cost: total };
}

function refuseBadProblem({ cost, rows, columns, rowLimit, columnLimit }: PairingProblem): void {
  if (!(Number.isSafeInteger(rows) && rows >= 0 && Number.isSafeInteger(columns) && columns >= 0)) {
    throw new RangeError('rows and columns must be whole numbers from 0 up');
  }
  if (cost.length !== rows * columns) {
    throw new RangeError(`cost has ${cost.length} numbers, but rows × columns is ${rows * columns}`);
  }
  const bad = cost.findIndex((price) => Number.isNaN(price) || price === -Infinity);
  if (bad >= 0) throw new RangeError(`cost ${bad} is ${cost[bad]}: a number or Infinity is needed`);
  refuseBadLimits('rowLimit', rowLimit, rows);
  refuseBadLimits('columnLimit', columnLimit, columns);
}

function refuseBadLimits(name: string, limits: Int32Array | undefined, length: number): void {
  if (limits === undefined) return;
  if (limits.length !== length) throw new RangeError(`${name} has ${limits.length} numbers, but ${length} are needed`);
  const bad = limits.findIndex((limit) => limit < 0);
  if (bad >= 0) throw new RangeError(`${name} ${bad} is ${limits[bad]}: 0 or more is needed`);
}
