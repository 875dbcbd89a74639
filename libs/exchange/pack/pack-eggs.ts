import { type EggsOfClutch } from '../../breeding/index.js';
import { type Day } from '../../kernel/index.js';
import { type Transfer } from '../../transfer/index.js';
import { packBreeders } from './pack-breeding.js';
import { type Own } from './pack-keeping.js';
import { type PackKin } from './pack-kin.js';
import { type PackEggs } from './record-pack.schema.js';

/** The eggs of a transfer that were sent or are to be, by clutch: first versions and numbers. */
export function eggsWanted({ eggs }: Pick<Transfer, 'eggs'>): { clutchId: string; numbers: number[] }[] {
  const clutches = new Map<string, number[]>();
  for (const { clutchId, number, notSent } of eggs)
    if (!notSent) clutches.set(clutchId, [...(clutches.get(clutchId) ?? []), number]);
  return [...clutches]
    .map(([clutchId, numbers]) => ({ clutchId, numbers }))
    .toSorted((a, b) => (a.clutchId < b.clutchId ? -1 : 1));
}

/** Animals that eggs descend from, or can descend from. */
export function parentsOfEggs(read: readonly EggsOfClutch[]): string[] {
  return read.flatMap(({ clutch, parents }) => [...clutch.dams, ...(parents?.sires ?? [])].map(({ id }) => id));
}

/** Eggs with what happened to each, how they arrived, and who their parents can be. `on`: the day to which days are counted; `own`: the reader's keepers. */
export function packEggs(
  read: readonly EggsOfClutch[],
  transfer: Pick<Transfer, 'eggs'>,
  kin: PackKin,
  species: (damId: string) => string,
  reading: { readonly on: Day; readonly own: Own },
): PackEggs[] {
  const { on, own } = reading;
  return read.map(({ clutch, eggs, breeders, parents }) => ({
    scientificName: species(clutch.dams[0]?.id ?? ''),
    controlled: clutch.controlled,
    laid: clutch.laid,
    foundOn: clutch.foundOn,
    dams: clutch.dams.map(({ id, probability }) => ({ ref: kin.ref(id, 'dam'), probability })),
    damBasis: parents?.damBasis ?? null,
    sires: parents?.sires.map(({ id, probability }) => ({ ref: kin.ref(id, 'sire'), probability })) ?? null,
    sireBasis: parents?.sireBasis ?? null,
    breeders: packBreeders(breeders, own),
    countedTo: on,
    eggs: eggs.map(({ number, state, topMarked, place, celsius, incubatedDays, events }) => {
      const item = transfer.eggs.find((egg) => egg.clutchId === clutch.originalId && egg.number === number);
      return {
        number,
        state,
        topMarked,
        place,
        celsius,
        incubatedDays,
        arrival: item?.arrival ?? null,
        receivedOn: item?.receivedOn ?? null,
        events: events.map((event) => ({
          kind: event.kind,
          celsius: event.celsius,
          candling: event.candling,
          when: event.written,
          recordedAt: event.recordedAt.toISOString(),
        })),
      };
    }),
  }));
}
