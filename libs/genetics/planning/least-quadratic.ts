/** Minimise x'Hx - 2·pull'x with 0 ≤ x ≤ upper and the sum of x in each group (0, 1) kept as it is in `start`. */
export interface QuadraticProblem {
  /** H, n × n, symmetric, positive definite. */
  readonly matrix: Float64Array;
  readonly pull: Float64Array;
  readonly group: Int8Array;
  readonly upper: Float64Array;
  /** A point within the limits. */
  readonly start: Float64Array;
}

const FREE = 0;
const AT_LOWER = -1;
const AT_UPPER = 1;
/** Breaches of optimality below this are rounding. */
const BREACH = 1e-12;

/**
 * The minimum, by a primal active-set method: go towards the minimum over the animals that are free; who meets a limit
 * is held there; once at that minimum, free the one whose limit costs most (two, up and down, where a group has
 * nobody free). Each minimum reached is below the last, so no set comes twice; rounding cannot make it run on for ever,
 * because the rounds are counted. Ties fall to the lowest index.
 *
 * @throws RangeError when the matrix is not positive definite, or the method does not end (degenerate input)
 */
export function leastQuadratic(problem: QuadraticProblem): Float64Array {
  const { upper, group } = problem;
  const n = upper.length;
  const x = problem.start.slice();
  const held = Int8Array.from(x, (value, i) =>
    value <= 0 ? AT_LOWER : value >= (upper[i] as number) ? AT_UPPER : FREE,
  );
  for (let round = 0; round < 50 * n + 1000; round++) {
    const free = Int32Array.from([...held.keys()].filter((i) => held[i] === FREE));
    const target = minimumOver(problem, x, free);
    let step = 1;
    let blocker = -1;
    free.forEach((i, at) => {
      const goal = target[at] as number;
      if (goal >= 0 && goal <= (upper[i] as number)) return;
      const reach = ((goal < 0 ? 0 : (upper[i] as number)) - (x[i] as number)) / (goal - (x[i] as number));
      if (blocker < 0 || reach < step) {
        step = reach;
        blocker = i;
      }
    });
    free.forEach((i, at) => {
      const moved =
        step === 1 && blocker < 0
          ? (target[at] as number)
          : (x[i] as number) + step * ((target[at] as number) - (x[i] as number));
      if (i !== blocker) x[i] = Math.min(upper[i] as number, Math.max(0, moved));
      else {
        held[i] = (target[at] as number) < 0 ? AT_LOWER : AT_UPPER;
        x[i] = held[i] === AT_LOWER ? 0 : (upper[i] as number);
      }
    });
    if (blocker < 0 && !release(problem, x, held, group)) return x;
  }
  throw new RangeError('the search for the minimum did not end');
}

/** Lets go of the limit that costs most; false when none does. */
function release(
  { matrix, pull, upper }: QuadraticProblem,
  x: Float64Array,
  held: Int8Array,
  group: Int8Array,
): boolean {
  const n = x.length;
  const slope = x.map((_, i) => rowProduct(matrix, x, i) - (pull[i] as number));
  let most = BREACH;
  let chosen: number[] = [];
  for (const side of [0, 1]) {
    let level = 0;
    let count = 0;
    // Who would gain most by giving more, and by giving less.
    let up = -1;
    let down = -1;
    for (let i = 0; i < n; i++) {
      if (group[i] !== side) continue;
      if (held[i] === FREE) {
        level += slope[i] as number;
        count++;
      } else if (held[i] === AT_LOWER) {
        if ((upper[i] as number) > 0 && (up < 0 || (slope[i] as number) < (slope[up] as number))) up = i;
      } else if (down < 0 || (slope[i] as number) > (slope[down] as number)) down = i;
    }
    if (count > 0) {
      level /= count;
      if (up >= 0 && level - (slope[up] as number) > most) [most, chosen] = [level - (slope[up] as number), [up]];
      if (down >= 0 && (slope[down] as number) - level > most)
        [most, chosen] = [(slope[down] as number) - level, [down]];
    } else if (up >= 0 && down >= 0 && (slope[down] as number) - (slope[up] as number) > most) {
      [most, chosen] = [(slope[down] as number) - (slope[up] as number), [up, down]];
    }
  }
  for (const i of chosen) held[i] = FREE;
  return chosen.length > 0;
}

function rowProduct(matrix: Float64Array, x: Float64Array, row: number): number {
  let sum = 0;
  for (let j = 0; j < x.length; j++) sum += (matrix[row * x.length + j] as number) * (x[j] as number);
  return sum;
}

/** Where the free animals would stand if only the sums of the groups bound them. */
function minimumOver({ matrix, pull, group }: QuadraticProblem, x: Float64Array, free: Int32Array): Float64Array {
  const n = x.length;
  const k = free.length;
  const root = cholesky(matrix, n, free);
  // As a change of x, so that the sums stay as they are: H d = -slope + multiplier of the group.
  const change = Float64Array.from(free, (i) => (pull[i] as number) - rowProduct(matrix, x, i));
  const unit = [0, 1].map((side) => Float64Array.from(free, (i) => (group[i] === side ? 1 : 0)));
  const sides = unit.filter((members) => members.includes(1));
  solve(root, k, change);
  const answers = sides.map((members) => {
    const answer = members.slice();
    solve(root, k, answer);
    return answer;
  });
  const [a, b] = sides;
  if (a && !b) addTimes(change, answers[0] as Float64Array, -dot(a, change) / dot(a, answers[0] as Float64Array));
  if (a && b) {
    const [s, t] = [answers[0] as Float64Array, answers[1] as Float64Array];
    const [aa, ab, bb] = [dot(a, s), dot(a, t), dot(b, t)];
    const [ra, rb] = [-dot(a, change), -dot(b, change)];
    const determinant = aa * bb - ab * ab;
    addTimes(change, s, (ra * bb - rb * ab) / determinant);
    addTimes(change, t, (rb * aa - ra * ab) / determinant);
  }
  // Rounding must not move the sums.
  for (const members of sides) addTimes(change, members, -dot(members, change) / dot(members, members));
  return change.map((d, at) => (x[free[at] as number] as number) + d);
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += (a[i] as number) * (b[i] as number);
  return sum;
}

function addTimes(to: Float64Array, what: Float64Array, times: number): void {
  for (let i = 0; i < to.length; i++) to[i] = (to[i] as number) + times * (what[i] as number);
}

/** Lower triangle L with LL' = the part of the matrix over `free`. */
function cholesky(matrix: Float64Array, n: number, free: Int32Array): Float64Array {
  const k = free.length;
  const root = new Float64Array(k * k);
  for (let i = 0; i < k; i++) {
    for (let j = 0; j <= i; j++) {
      let rest = matrix[(free[i] as number) * n + (free[j] as number)] as number;
      for (let m = 0; m < j; m++) rest -= (root[i * k + m] as number) * (root[j * k + m] as number);
      if (i !== j) root[i * k + j] = rest / (root[j * k + j] as number);
      else if (rest > 0) root[i * k + i] = Math.sqrt(rest);
      else throw new RangeError('kinship is not positive semidefinite: no pedigree gives it');
    }
  }
  return root;
}

/** LL'x = b, in place. */
function solve(root: Float64Array, k: number, b: Float64Array): void {
  for (let i = 0; i < k; i++) {
    for (let j = 0; j < i; j++) b[i] = (b[i] as number) - (root[i * k + j] as number) * (b[j] as number);
    (b[i] as number) /= root[i * k + i] as number;
  }
  for (let i = k - 1; i >= 0; i--) {
    (b[i] as number) /= root[i * k + i] as number;
    for (let j = 0; j < i; j++) b[j] = (b[j] as number) - (root[i * k + j] as number) * (b[i] as number);
  }
}
