import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { addDays, day, type DaySpan, isBefore, parseEdtf } from '../../kernel/index.js';
import {
  decideEggEvents,
  decideYoungOfEgg,
  EGG_EVENTS,
  EGG_STATES,
  EGG_TRANSITIONS,
  type EggEvent,
  type EggEventKind,
  eggState,
  inOrder,
  isOver,
} from './egg.core.js';

const TODAY = day('2026-06-10');
const ANY: DaySpan = { earliest: null, latest: null };

function span(edtf: string | null): DaySpan {
  if (edtf === null) return ANY;
  const read = parseEdtf(edtf);
  if (!read.ok) throw new Error(read.message);
  return read.value;
}

let count = 0;
function event(kind: EggEventKind, edtf: string | null, more: Partial<EggEvent> = {}): EggEvent {
  count += 1;
  return { id: `event-${count}`, kind, wholeClutch: false, when: span(edtf), recorded: count, ...more };
}

const decided = (events: EggEvent[], laid = '2026-03-01') =>
  decideEggEvents({ number: 1, events, laid: span(laid) }, TODAY);
const rule = (answer: ReturnType<typeof decided>) => (answer.ok ? answer.value : answer.refusal.rule);

describe('the table of an egg', () => {
  it('has an answer for every state and event', () => {
    for (const state of EGG_STATES)
      for (const kind of EGG_EVENTS) expect([null, ...EGG_STATES]).toContain(EGG_TRANSITIONS[state][kind]);
  });

  it('nothing follows where an egg has ended, everything else where it has not', () => {
    for (const state of EGG_STATES) {
      const answers = EGG_EVENTS.map((kind) => EGG_TRANSITIONS[state][kind]);
      expect(answers.every((answer) => (answer === null) === isOver(state))).toBe(true);
    }
    expect(EGG_STATES.filter(isOver)).toEqual(['infertile', 'failed', 'hatched']);
  });

  it('a move and a candling change no state, save that an egg of unknown fate has turned up', () => {
    for (const kind of ['moved', 'candled'] as const) {
      expect(EGG_TRANSITIONS.with_parents[kind]).toBe('with_parents');
      expect(EGG_TRANSITIONS.incubated[kind]).toBe('incubated');
      expect(EGG_TRANSITIONS.unknown[kind]).toBe('laid');
    }
  });
});

describe('the life of an egg', () => {
  it('is read in the order of its days, in whatever order it was recorded', () => {
    const life = [
      event('hatched', '2026-05-20'),
      event('candled', '2026-03-15'),
      event('incubated', '2026-03-02'),
      event('moved', '2026-04-01'),
    ];
    expect(eggState(life)).toBe('hatched');
    expect(inOrder(life).map(({ kind }) => kind)).toEqual(['incubated', 'candled', 'moved', 'hatched']);
    expect(rule(decided(life))).toBe('hatched');
  });

  it('what is known only by its month can have come before the end in that month', () => {
    expect(rule(decided([event('hatched', '2026-05-20'), event('candled', '2026-05')]))).toBe('hatched');
    expect(rule(decided([event('failed', '2026-05'), event('candled', '2026-05-31')]))).toBe('failed');
  });

  it.each([
    ['candled after it hatched', [event('hatched', '2026-05-20'), event('candled', '2026-05-21')]],
    ['hatched after it failed', [event('failed', '2026-05-01'), event('hatched', '2026-05-20')]],
    ['hatched twice', [event('hatched', '2026-05-20'), event('hatched', '2026-05-20')]],
  ])('refuses an egg %s', (_, events) => expect(rule(decided(events))).toBe('EGG_EVENT_OUT_OF_ORDER'));

  it('an egg of unknown fate can turn up and hatch', () => {
    expect(rule(decided([event('fate_unknown', '2026-04-01'), event('hatched', '2026-05-20')]))).toBe('hatched');
  });

  it('refuses what is surely before the laying or to come, and nothing that is only perhaps so', () => {
    expect(rule(decided([event('candled', '2026-02-28')]))).toBe('EGG_EVENT_BEFORE_LAID');
    expect(rule(decided([event('candled', '2026-02')], '2026-02'))).toBe('laid');
    expect(rule(decided([event('candled', '2026-06-11')]))).toBe('DAY_IN_FUTURE');
    expect(rule(decided([event('candled', null)]))).toBe('laid');
  });

  it('an event of the whole clutch passes over an egg that had ended', () => {
    const failed = event('failed', '2026-06-01', { wholeClutch: true });
    expect(rule(decided([event('hatched', '2026-05-20'), failed]))).toBe('hatched');
    expect(rule(decided([event('incubated', '2026-03-02'), failed]))).toBe('failed');
    expect(rule(decided([failed, event('hatched', '2026-06-05')]))).toBe('EGG_EVENT_OUT_OF_ORDER');
  });
});

it('property: an order is refused only when some event surely follows an end, or there are two ends', () => {
  const kinds = fc.constantFrom<EggEventKind>('incubated', 'moved', 'candled', 'failed', 'hatched');
  const some = fc.tuple(kinds, fc.integer({ min: 0, max: 60 }), fc.integer({ min: 0, max: 20 }));
  fc.assert(
    fc.property(fc.array(some, { maxLength: 6 }), (life) => {
      const events = life.map(([kind, from, width]) => {
        const earliest = addDays(day('2026-03-01'), from);
        return event(kind, null, { when: { earliest, latest: addDays(earliest, width) } });
      });
      const ends = events.filter(({ kind }) => kind === 'failed' || kind === 'hatched');
      const possible =
        ends.length <= 1 &&
        ends.every((end) => events.every((other) => other === end || isBefore(end.when, other.when) !== 'yes'));
      expect(decideEggEvents({ number: 1, events, laid: span('2026-03-01') }, TODAY).ok).toBe(possible);
    }),
  );
});

describe('young of one egg', () => {
  it('one is usual, two are twins, three are refused', () => {
    expect(decideYoungOfEgg(1, 1)).toEqual({ ok: true, value: { twins: false } });
    expect(decideYoungOfEgg(1, 2)).toEqual({ ok: true, value: { twins: true } });
    const three = decideYoungOfEgg(1, 3);
    expect(three.ok ? null : three.refusal.rule).toBe('EGG_THREE_YOUNG');
  });
});
