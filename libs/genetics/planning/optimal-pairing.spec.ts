import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { optimalPairing, pairingCost, type PairingProblem } from '../index.js';

/** Every pairing within the limits, tried one after the other: the most pairs, then the least cost. */
function bruteForce({ cost, rows, columns, rowLimit, columnLimit }: PairingProblem): { pairs: number; cost: number } {
  const left = Array.from({ length: columns }, (_, column) => columnLimit?.[column] ?? 1);
  let best = { pairs: 0, cost: 0 };
  const walk = (pair: number, made: number, total: number, rowLeft: number): void => {
    if (pair === rows * columns) {
      if (made > best.pairs || (made === best.pairs && total < best.cost)) best = { pairs: made, cost: total };
      return;
    }
    const [row, column] = [Math.floor(pair / columns), pair % columns];
    const room = column === 0 ? (rowLimit?.[row] ?? 1) : rowLeft;
    if (room > 0 && (left[column] as number) > 0 && (cost[pair] as number) < Infinity) {
      left[column] = (left[column] as number) - 1;
      walk(pair + 1, made + 1, total + (cost[pair] as number), room - 1);
      left[column] = left[column] + 1;
    }
    walk(pair + 1, made, total, room);
  };
  walk(0, 0, 0, 0);
  return best;
}

const price = fc.oneof(
  { weight: 3, arbitrary: fc.integer({ min: -4, max: 9 }) },
  { weight: 1, arbitrary: fc.constant(Infinity) },
);
const problems = (side: number, limits: boolean) =>
  fc.tuple(fc.integer({ min: 0, max: side }), fc.integer({ min: 0, max: side })).chain(([rows, columns]) => {
    const limit = (length: number) =>
      fc
        .array(fc.integer({ min: 0, max: 3 }), { minLength: length, maxLength: length })
        .map((list) => Int32Array.from(list));
    const cost = fc
      .array(price, { minLength: rows * columns, maxLength: rows * columns })
      .map((list) => Float64Array.from(list));
    return limits
      ? fc.record({
          cost,
          rows: fc.constant(rows),
          columns: fc.constant(columns),
          rowLimit: limit(rows),
          columnLimit: limit(columns),
        })
      : fc.record({ cost, rows: fc.constant(rows), columns: fc.constant(columns) });
  });

function expectBest(problem: PairingProblem): void {
  const { row, column, cost } = optimalPairing(problem);
  expect({ pairs: row.length, cost }).toEqual(bruteForce(problem));
  const pairs = [...row].map((at, k) => at * problem.columns + (column[k] as number));
  expect(new Set(pairs).size).toBe(pairs.length);
  for (let r = 0; r < problem.rows; r++) {
    expect(row.filter((at) => at === r).length).toBeLessThanOrEqual(problem.rowLimit?.[r] ?? 1);
  }
  for (let c = 0; c < problem.columns; c++) {
    expect(column.filter((at) => at === c).length).toBeLessThanOrEqual(problem.columnLimit?.[c] ?? 1);
  }
}

describe('optimal pairing', () => {
  it('as every assignment tried, up to 6 × 6, with forbidden pairs and costs below 0', () => {
    fc.assert(fc.property(problems(6, false), expectBest), { numRuns: 60 });
  });

  it('as every pairing tried, with limits', () => {
    fc.assert(fc.property(problems(4, true), expectBest), { numRuns: 150 });
  });

  it('greedy is not optimal: the cheapest pair first costs 101, the best pairing 4', () => {
    const { row, column, cost } = optimalPairing({ cost: Float64Array.of(1, 2, 2, 100), rows: 2, columns: 2 });
    expect([[...row], [...column], cost]).toEqual([[0, 1], [1, 0], 4]);
  });

  it('more pairs come before less cost', () => {
    const { cost } = optimalPairing({ cost: Float64Array.of(1, 50, 60, Infinity), rows: 2, columns: 2 });
    expect(cost).toBe(110);
  });

  it('200 × 200, cost row × column: the rearrangement inequality gives the answer', () => {
    const cost = Float64Array.from({ length: 40_000 }, (_, pair) => Math.floor(pair / 200) * (pair % 200));
    const { row, column } = optimalPairing({ cost, rows: 200, columns: 200 });
    expect([...column]).toEqual([...row].map((at) => 199 - at));
    expect(row.length).toBe(200);
  });

  it('names what is wrong', () => {
    const pair = { cost: Float64Array.of(1), rows: 1, columns: 1 };
    expect(() => optimalPairing({ ...pair, rows: 2 })).toThrow('cost has 1 numbers');
    expect(() => optimalPairing({ ...pair, cost: Float64Array.of(NaN) })).toThrow('cost 0 is NaN');
    expect(() => optimalPairing({ ...pair, rowLimit: Int32Array.of(-1) })).toThrow('rowLimit 0 is -1');
  });
});

describe('cost of a pairing', () => {
  it('by hand, and not above the limit on F', () => {
    const input = {
      kinship: Float64Array.of(0, 0.125, 0.25, 0.0625),
      meanKinshipMales: Float64Array.of(0.1, 0.2),
      meanKinshipFemales: Float64Array.of(0.1, 0.4),
      maxKinship: 0.125,
      weights: { meanKinship: 1, kinship: 2, difference: 10 },
    };
    const [first, second, third, fourth] = pairingCost(input);
    expect(first).toBeCloseTo(0.1, 12);
    expect(second).toBeCloseTo(0.25 + 0.25 + 3, 12);
    expect(third).toBe(Infinity);
    expect(fourth).toBeCloseTo(0.3 + 0.125 + 2, 12);
    expect(() => pairingCost({ ...input, maxKinship: NaN })).toThrow('maxKinship is NaN');
  });
});
