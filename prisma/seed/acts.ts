import { type RecordFactCommand, RecordFacts } from '../../libs/animal/index.js';
import { RegisterStock, type RegisterStockCommand } from '../../libs/custody/index.js';
import { parseEdtf, type UncertainDay } from '../../libs/kernel/index.js';
import { type ParentStatement } from '../../libs/lineage/index.js';
import { type CastKey } from './people.js';
import { type DemoLoader } from './loader.js';

/** An uncertain day as a keeper writes it. */
export function edtf(text: string): UncertainDay {
  const parsed = parseEdtf(text);
  if (!parsed.ok) throw new Error(`${text}: ${parsed.message}`);
  return parsed.value;
}

/** Stock of the demo. Parents are certain; one without any is a founder, as far as the demo goes. */
export type Stock = Partial<Omit<RegisterStockCommand, 'parents' | 'founder'>> & {
  readonly taxon: string;
  readonly sireId?: string;
  readonly damId?: string;
};

/** Registers stock for one of the cast. */
export async function register(
  demo: DemoLoader,
  who: CastKey,
  step: string,
  { taxon, sireId, damId, ...stock }: Stock,
): Promise<string> {
  const parents = [
    ...(sireId === undefined ? [] : [certain('sire', sireId)]),
    ...(damId === undefined ? [] : [certain('dam', damId)]),
  ];
  const { viewer, keeperId } = await demo.as(who, step);
  const { animalId } = await demo.get(RegisterStock).execute(viewer, {
    kind: 'individual',
    keeperId,
    taxonId: await demo.taxonId(taxon),
    lineId: null,
    name: null,
    sex: null,
    birth: null,
    originClass: null,
    marks: [],
    parents,
    founder: parents.length === 0,
    count: 1,
    countEstimated: false,
    since: null,
    arrivedBy: 'registered',
    ...stock,
  });
  return animalId;
}

function certain(role: 'sire' | 'dam', parentId: string): ParentStatement {
  return { role, basis: 'declared', candidates: [{ parentId, probability: 1 }], withoutSire: false };
}

/** Records a fact of today's scene, or of `when`. */
export async function record(
  demo: DemoLoader,
  who: CastKey,
  step: string,
  animalId: string,
  fact: RecordFactCommand['fact'],
  when: UncertainDay | null = null,
): Promise<void> {
  const { viewer } = await demo.as(who, step);
  await demo.get(RecordFacts).one(viewer, { animalId, fact, when, reason: undefined });
}

export const weight = (grams: number): RecordFactCommand['fact'] => ({ kind: 'weight', body: { grams } });

export const note = (topic: 'care' | 'private', text: string): RecordFactCommand['fact'] => ({
  kind: 'note',
  body: { topic, text },
});
