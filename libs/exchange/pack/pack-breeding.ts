import { type Breeder, type BreedersAt, reasonsForAll } from '../../breeding/index.js';
import { fromDateColumn, fromDateColumnOrNull } from '../../access/index.js';
import { type Own } from './pack-keeping.js';
import { type PackKin } from './pack-kin.js';
import { isKnown, supersession, type Until, wasInForce } from './pack-moment.js';
import { type PackAnimal, type PackBreeder } from './record-pack.schema.js';
import { type RecordPackStore, whenOf } from './record-pack.store.js';

type Rows<K extends 'findMatings' | 'findMerges' | 'findClutches' | 'findLotChanges'> = Awaited<
  ReturnType<RecordPackStore[K]>
>;

/** The matings of one animal, as known then. */
export function packMatings(id: string, rows: Rows<'findMatings'>, kin: PackKin, until: Until): PackAnimal['matings'] {
  return rows
    .filter((row) => (row.damId === id || row.sireId === id) && wasInForce(row, until))
    .map((row) => ({
      dam: kin.ref(row.damId, 'dam'),
      sire: row.sireId === null ? null : kin.ref(row.sireId, 'sire'),
      basis: row.basis,
      controlled: row.controlled,
      when: whenOf(row),
      recordedAt: row.recordedAt.toISOString(),
    }));
}

/**
 * The clutches of one animal, as known then: those it laid with all their eggs and young, and the one it came out of with what
 * happened to its own egg, or to all. Where eggs lay is the keeper's own affair; how warm is the animal's.
 */
export function packClutches(
  id: string,
  rows: Rows<'findClutches'>,
  kin: PackKin,
  known: { readonly until: Until; readonly own: Own; readonly breedersAt: BreedersAt },
): PackAnimal['clutches'] {
  const { until, own: mine, breedersAt } = known;
  return rows.flatMap(({ versions, events, hatchings }) => {
    const clutch = versions.findLast((row) => wasInForce(row, until));
    if (clutch === undefined) return [];
    const young = hatchings.filter((row) => wasInForce(row, until));
    const own = young.filter((row) => row.animalId === id);
    const as = clutch.dams.some(({ damId }) => damId === id) ? 'dam' : 'young';
    if (as === 'young' && own.length === 0) return [];
    const eggs = new Set(own.map((row) => row.eggId));
    return [
      {
        as,
        kind: clutch.kind,
        dams: clutch.dams.map(({ damId, probability }) => ({ ref: kin.ref(damId, 'dam'), probability })),
        eggCount: clutch.eggCount,
        controlled: clutch.controlled,
        laid: whenOf(clutch),
        foundOn: fromDateColumnOrNull(clutch.foundOn),
        recordedAt: clutch.recordedAt.toISOString(),
        breeders: packBreeders(breedersAt(clutch.originalId, until).breeders, mine),
        eggEvents: events
          .filter((event) => wasInForce(event, until))
          .filter((event) => as === 'dam' || event.eggId === null || eggs.has(event.eggId))
          .map((event) => ({
            egg: event.egg?.number ?? null,
            kind: event.kind,
            celsius: event.celsius?.toNumber() ?? null,
            candling: event.candling,
            when: whenOf(event),
            recordedAt: event.recordedAt.toISOString(),
          })),
        young: (as === 'dam' ? young : own).map((row) => ({
          ref: kin.ref(row.animalId),
          egg: row.egg?.number ?? null,
          controlled: row.controlled,
          when: whenOf(row),
          recordedAt: row.recordedAt.toISOString(),
        })),
      } as const,
    ];
  });
}

/** Who bred young: what kind of owner of the dam and whether it is the reader, never a name. */
export function packBreeders(breeders: readonly Breeder[], own: Own): PackBreeder[] {
  return breeders.map(({ party, sure, why }) => ({
    breeder: party?.kind ?? 'unknown',
    own: party?.kind === 'keeper' && own.has(party.keeperId),
    sure,
    why: reasonsForAll(why),
  }));
}

/** With which other records of the same animal this one became one, as known then. */
export function packMerges(id: string, rows: Rows<'findMerges'>, kin: PackKin, until: Until): PackAnimal['merges'] {
  return rows
    .filter((row) => (row.keepId === id || row.mergedId === id) && isKnown(row, until))
    .map((row) => ({
      as: row.keepId === id ? ('kept' as const) : ('merged' as const),
      other: kin.ref(row.keepId === id ? row.mergedId : row.keepId),
      because: row.because,
      recordedAt: row.recordedAt.toISOString(),
      undone: supersession(row, until),
    }));
}

/** How the count of a lot changed, and out of which lot a record came. Reasons stay with those who gave them. */
export function packCounts(
  id: string,
  rows: Rows<'findLotChanges'>,
  kin: PackKin,
  until: Until,
): Pick<PackAnimal, 'countChanges' | 'outOfLot'> {
  const known = rows.filter((row) => wasInForce(row, until));
  const out = known.find((row) => row.counterpartId === id && ['raised_out', 'split_out'].includes(row.cause));
  return {
    outOfLot:
      out === undefined
        ? null
        : {
            lot: kin.ref(out.lotId, 'lot'),
            by: out.cause === 'raised_out' ? 'raised' : 'split',
            on: fromDateColumn(out.happenedOn),
            recordedAt: out.recordedAt.toISOString(),
          },
    countChanges: known
      .filter((row) => row.lotId === id)
      .map(({ cause, delta, estimated, happenedOn, recordedAt }) => ({
        cause,
        delta,
        estimated,
        on: fromDateColumn(happenedOn),
        recordedAt: recordedAt.toISOString(),
      })),
  };
}
