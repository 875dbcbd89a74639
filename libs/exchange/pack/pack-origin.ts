import { fromDateColumnOrNull } from '../../access/index.js';
import { wasInForce } from './pack-ancestry.js';
import { type RecordPack } from './record-pack.schema.js';
import { type RecordPackStore } from './record-pack.store.js';

type Hatching = Awaited<ReturnType<RecordPackStore['findHatchings']>>[number];
type Mating = Awaited<ReturnType<RecordPackStore['findMatings']>>[number];

/** The clutch an animal came from, as known at a moment, with the matings of its dams that can stand behind it; null = none. */
export function originOf(
  hatchings: readonly Hatching[],
  matings: readonly Mating[],
  refs: ReadonlyMap<string, string>,
  until: Date | null,
): RecordPack['animals'][number]['cameFrom'] {
  const hatching = hatchings.findLast((row) => wasInForce(row, until));
  const clutch = hatching?.clutch.original.versions.findLast((row) => wasInForce(row, until));
  if (hatching === undefined || clutch === undefined) return null;
  const dams =
    clutch.damId === null
      ? clutch.candidates.map(({ damId, probability }) => ({ damId, probability: probability.toNumber() }))
      : [{ damId: clutch.damId, probability: 1 }];
  return {
    kind: clutch.kind,
    laid: clutch.edtf,
    foundOn: fromDateColumnOrNull(clutch.foundOn),
    count: clutch.eggCount,
    controlled: clutch.controlled,
    dams: dams.map(({ damId, probability }) => ({ ref: refs.get(damId) ?? null, probability })),
    egg: hatching.egg?.number ?? null,
    // Where it was incubated is the keeper's own affair; how warm is the animal's.
    eggEvents: hatching.clutch.original.eggEvents
      .filter((event) => wasInForce(event, until) && (event.eggId === null || event.eggId === hatching.eggId))
      .map(({ kind, celsius, candling, edtf }) => ({
        kind,
        celsius: celsius?.toNumber() ?? null,
        candling,
        when: edtf,
      })),
    hatched: hatching.edtf,
    hatchedControlled: hatching.controlled,
    matings: matings
      .filter((row) => wasInForce(row, until) && dams.some(({ damId }) => damId === row.damId))
      .filter((row) => row.earliest === null || clutch.latest === null || row.earliest <= clutch.latest)
      .flatMap((row) => {
        const [dam, sire] = [refs.get(row.damId), row.sireId === null ? null : refs.get(row.sireId)];
        // A mating with an animal that is nowhere in this pedigree is not of this animal.
        if (dam === undefined || sire === undefined) return [];
        return [{ dam, sire, basis: row.basis, controlled: row.controlled, when: row.edtf }];
      }),
  };
}
