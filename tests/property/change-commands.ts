import fc from 'fast-check';
import { isCorrectable, type Loss, saidOf } from './change-rules.js';
import { aDay, few, inTime, lotOr, NOBODY, number, pick, step, whoHas } from './history-drafts.js';

const correct = step(
  fc.record({
    n: number,
    m: number,
    takeBack: fc.constantFrom(true, false, false, false),
    count: fc.option(few, { freq: 3 }),
    on: fc.option(aDay, { freq: 1 }),
    cause: fc.option(fc.constantFrom<Loss>('died', 'died', 'missing', 'stolen', 'escaped'), { freq: 1 }),
  }),
  ({ n, m, takeBack, count, on, cause }, model, cast) => {
    const lossy = [...model.animals.values()].filter(({ changes }) => changes.map(saidOf).some(isCorrectable));
    const lot = (n % 10 === 9 ? undefined : pick(lossy, n)?.id) ?? lotOr(model, n);
    const all = [...(model.animals.get(lot)?.changes.entries() ?? [])];
    const ready = all.filter(([, change]) => change.inForce && isCorrectable(saidOf(change)));
    const drawn = m % 10 === 9 ? pick(all, m) : (pick(ready, m) ?? pick(all, m));
    const of = drawn === undefined ? null : saidOf(drawn[1]).cause;
    const put = {
      count,
      on: on === null ? null : inTime(model, lot, on, n),
      loss: of === 'found' && m % 6 !== 5 ? null : cause,
    };
    const said = takeBack ? { count: null, on: null, loss: null } : put;
    return {
      ...{ do: 'correctChange', lot: drawn === undefined ? NOBODY : lot, at: drawn?.[0] ?? 0, old: m % 12 === 11 },
      ...{ takeBack, ...said, by: whoHas(model, cast, lot, n) },
    };
  },
);

export const changeKinds = [correct, correct, correct] as const;
