import { RecordClutch, RecordHatching, RecordMating } from '../../libs/breeding/index.js';
import { exactDay } from '../../libs/kernel/index.js';
import { edtf, record, register } from './acts.js';
import { type DemoLoader } from './loader.js';

/**
 * A case whose papers contradict its biology: a wild-taken female was mated four days before she laid, too soon for the eggs
 * to come of it; the hatchling is claimed bred.
 */
export async function aContradictedClaim(demo: DemoLoader): Promise<void> {
  const tortoise = 'Testudo hermanni';
  demo.goTo(200);
  const dam = await register(demo, 'tamarack', 'origin-dam', {
    taxon: tortoise,
    name: 'Marl',
    sex: 'female',
    originClass: 'wild',
    birth: { when: edtf('19XX'), manner: 'unknown' },
  });
  await record(
    demo,
    'tamarack',
    'origin-dam-taken',
    dam,
    { kind: 'acquisition', body: { manner: 'wild_taken', statedBy: 'the seller' } },
    exactDay(demo.daysAgo(200)),
  );
  const sire = await register(demo, 'tamarack', 'origin-sire', {
    taxon: tortoise,
    name: 'Gault',
    sex: 'male',
    originClass: 'bred',
    birth: { when: edtf('2005~'), manner: 'hatched' },
  });
  const mated = demo.goTo(195);
  await demo.get(RecordMating).execute((await demo.as('tamarack', 'origin-mating')).viewer, {
    damId: dam,
    sireId: sire,
    basis: 'observed',
    controlled: 'yes',
    when: exactDay(mated),
  });
  const laid = demo.goTo(191);
  const { clutchId } = await demo.get(RecordClutch).execute((await demo.as('tamarack', 'origin-clutch')).viewer, {
    damId: dam,
    laid: exactDay(laid),
    foundOn: laid,
    eggCount: 4,
    controlled: 'yes',
  });
  const hatched = demo.goTo(125);
  const young = await register(demo, 'tamarack', 'origin-young', {
    taxon: tortoise,
    originClass: 'bred',
    damId: dam,
    sireId: sire,
    birth: { when: exactDay(hatched), manner: 'hatched' },
    arrivedBy: 'born',
  });
  await demo.get(RecordHatching).execute((await demo.as('tamarack', 'origin-hatching')).viewer, {
    clutchId,
    animalId: young,
    when: exactDay(hatched),
    controlled: 'yes',
  });
}

/** An honest keeper with gaps: bought years ago on the seller's word. Nothing speaks against it, and nothing is shown. */
export async function anHonestGap(demo: DemoLoader): Promise<void> {
  demo.goTo(640);
  const frog = await register(demo, 'bram', 'gap-frog', {
    taxon: 'Dendrobates tinctorius',
    name: 'Teal',
    sex: 'male',
    originClass: 'bred',
    birth: { when: edtf('2022/2023'), manner: 'metamorphosed' },
  });
  await record(
    demo,
    'bram',
    'gap-bought',
    frog,
    { kind: 'acquisition', body: { manner: 'bought', statedBy: 'the seller' } },
    edtf(demo.daysAgo(640).slice(0, 7)),
  );
}
