import { day, type DaySpan, parseEdtf } from '../../kernel/index.js';
import type {
  Acquisition,
  AcquisitionManner,
  Dated,
  HeldPeriod,
  Laying,
  Mating,
  OriginClaim,
  OriginRecord,
  ParentRecord,
  TaxonBounds,
} from './origin-record.core.js';

/** Records for tests of the rules. Bounds are invented for the tests. */

export const BOUNDS: TaxonBounds = {
  matingToLayingMinDays: { value: 20, source: 'invented bound of 20 days' },
  spermStorageMaxDays: { value: 700, source: 'invented bound of 700 days' },
  incubationDays: { min: 50, max: 100, source: 'invented bounds of 50 to 100 days' },
  clutchSizeMax: { value: 6, source: 'invented bound of 6 eggs' },
  maturityDays: { min: 300, source: 'invented bound of 300 days' },
};

export const BREEDER = 'keeper-breeder';

export function span(edtf: string): DaySpan {
  const read = parseEdtf(edtf);
  if (!read.ok) throw new Error(read.message);
  return read.value;
}

/** An entry about `edtf`, written down three days after its last day unless said otherwise. */
export function entry(factId: string, edtf: string, recorded?: string): Dated {
  const when = span(edtf);
  return { factId, keeperId: BREEDER, when, recordedOn: day(recorded ?? when.latest ?? '2026-01-01') };
}

export function claim(origin: OriginClaim, onWord = false) {
  return { factId: 'claim', keeperId: BREEDER, recordedOn: day('2025-01-01'), origin, onWord };
}

export function acquired(manner: AcquisitionManner, edtf: string, recorded?: string): Acquisition {
  return { ...entry('acquisition', edtf, recorded), manner };
}

export function mated(edtf: string, more: Partial<Mating> = {}): Mating {
  return { ...entry(`mating ${edtf}`, edtf), controlled: 'yes', basis: 'observed', ...more };
}

export function laid(edtf: string, more: Partial<Laying> = {}): Laying {
  return { ...entry('laying', edtf), controlled: 'yes', damId: 'dam', eggCount: 2, ...more };
}

export function hatched(edtf: string, recorded?: string) {
  return { ...entry('hatching', edtf, recorded), controlled: 'yes' as const };
}

export function held(from: string, to: string | null = null, recorded: string = from): HeldPeriod {
  return { from: day(from), to: to === null ? null : day(to), known: true, recordedOn: day(recorded) };
}

export function parent(animalId: string, more: Partial<ParentRecord> = {}): ParentRecord {
  return {
    animalId,
    claim: null,
    acquisition: null,
    birth: null,
    matings: [],
    stays: [],
    papers: [],
    generation: { lowest: 0, highest: null },
    ...more,
  };
}

/** A record in which nothing is written down, with what the test adds. */
export function record(more: Partial<OriginRecord> = {}): OriginRecord {
  return {
    claim: null,
    acquisition: null,
    birth: null,
    hatching: null,
    laying: null,
    damStatement: null,
    sireStatement: null,
    dam: null,
    sire: null,
    held: [],
    marks: [],
    papers: [],
    parties: [BREEDER],
    ...more,
  };
}

export const WILD_DAM = {
  ...parent('dam', { acquisition: { ...acquired('wild_taken', '2024-01-10'), factId: 'dam acquisition' } }),
  generation: { lowest: 0, highest: 0 },
};

/** Bred here, written down at the time: mating, laying, hatching, and held since. */
export const BRED_HERE: Partial<OriginRecord> = {
  claim: claim('bred'),
  laying: laid('2025-03-01'),
  hatching: hatched('2025-05-01'),
  birth: entry('birth', '2025-05-01'),
  held: [held('2025-05-01')],
  dam: parent('dam', { matings: [mated('2025-01-20')] }),
};
