import fc from 'fast-check';
import {
  makeSpokenCode,
  formatSpokenCode,
  SHORT_PAYLOAD_LENGTH,
} from '../../libs/transfer/hand-over/spoken-code.core.js';
import { MISTYPED } from './code-rules.js';
import { eggsTold } from './egg-commands.js';
import { type Model } from './history-model.js';
import { NOBODY, number, ofSide, pick, Step, step } from './history-drafts.js';

let drawn = 0;
/** A code in its right form that nobody was given. */
const UNUSED = formatSpokenCode(makeSpokenCode((below) => (drawn += 5) % below, SHORT_PAYLOAD_LENGTH));

/** Mostly a transfer between two keepers that can be handed over in person. */
function inPerson(model: Model, n: number, opened: boolean): string {
  const all = [...model.transfers.values()];
  const ready = all.filter(
    ({ state, outside, codes }) =>
      !outside && (state === 'offered' || state === 'accepted') && (!opened || codes.length > 0),
  );
  return ((n % 8 === 7 ? undefined : pick(ready, n)) ?? pick(all, n))?.id ?? NOBODY;
}

const open = step(number, (n, model, cast) => {
  const transfer = inPerson(model, n, false);
  return { do: 'openCode', transfer, reason: n % 3 !== 0, by: ofSide(model, cast, transfer, true, n) };
});

/** Enters the code that was opened last, an earlier one, that of another transfer, or none that anybody was given. */
const enter = step(
  fc.record({
    n: number,
    which: fc.constantFrom('last', 'last', 'last', 'last', 'earlier', 'other', 'unused', 'unused', 'mistyped'),
    tries: fc.constantFrom(1, 1, 2, 9, 12),
    states: fc.array(fc.constantFrom('well', 'well', 'ill', 'dead', 'refused'), { minLength: 1, maxLength: 3 }),
    eggs: eggsTold,
  }),
  ({ n, which, tries, states, eggs }, model, cast) => {
    const id = inPerson(model, n, true);
    const transfer = model.transfers.get(id);
    const others = [...model.transfers.values()].filter((each) => each.id !== id).flatMap(({ codes }) => codes);
    const text = {
      last: transfer?.codes.at(-1)?.text,
      earlier: transfer?.codes.at(-2)?.text,
      other: pick(others, n)?.text,
      unused: UNUSED,
      mistyped: MISTYPED,
    }[which];
    const items = (transfer?.items ?? []).map(({ animalId, count }, i) => {
      const animal = model.animals.get(animalId);
      const there = animal?.fate === 'alive' && animal.count > 0 ? animal.count : count;
      return { animal: animalId, told: [{ state: pick(states, i) ?? 'well', count: there }] };
    });
    const right = text === transfer?.codes.at(-1)?.text;
    const said = { code: text ?? UNUSED, tries: right ? 1 : tries, items, eggs: eggs(transfer, false) };
    return { do: 'enterCode', transfer: id, ...said, by: ofSide(model, cast, id, false, n) };
  },
);

const wait = step(fc.constantFrom(4, 10, 20), (minutes) => ({ do: 'wait', minutes, by: NOBODY }));

/** A code where none is open that works, and then what can become of it. */
const meet = fc.tuple(number, open, enter, wait).map(([n, opens, enters, waits]) => {
  return new Step((model, cast) => {
    const works = [...model.transfers.values()].some(
      ({ codes, state }) => (state === 'offered' || state === 'accepted') && codes.length > 0,
    );
    return (works ? (n % 9 === 0 ? waits : enters) : opens).drafted(model, cast);
  });
});

/** Commands about hand-overs in person. */
export const codeKinds = [...Array<typeof meet>(8).fill(meet), open, enter, wait];
