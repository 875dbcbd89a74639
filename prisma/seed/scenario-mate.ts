import { exactDay } from '../../libs/kernel/index.js';
import { SetBreedingAvailability } from '../../libs/matching/index.js';
import { edtf, register } from './acts.js';
import { type DemoLoader } from './loader.js';

/** A lone female looks for a mate: males of her kind sit in other rooms, one is her brother, and one holder calls his open for breeding. */
export async function aLoneFemale(demo: DemoLoader): Promise<void> {
  const gecko = { taxon: 'Correlophus ciliatus', originClass: 'bred' } as const;
  demo.goTo(850);
  const sire = await register(demo, 'tamarack', 'mate-sire', {
    ...gecko,
    name: 'Umber',
    sex: 'male',
    birth: { when: edtf(demo.daysAgo(2300).slice(0, 4)), manner: 'hatched' },
  });
  const dam = await register(demo, 'tamarack', 'mate-dam', {
    ...gecko,
    name: 'Sedge',
    sex: 'female',
    birth: { when: edtf(demo.daysAgo(2300).slice(0, 4)), manner: 'hatched' },
  });
  demo.goTo(800);
  const born = {
    birth: { when: exactDay(demo.daysAgo(800)), manner: 'hatched' as const },
    arrivedBy: 'born' as const,
    sireId: sire,
    damId: dam,
  };
  await register(demo, 'tamarack', 'mate-son', { ...gecko, ...born, name: 'Rush', sex: 'male' });
  demo.goTo(780);
  await register(demo, 'petra', 'mate-hidden', {
    ...gecko,
    name: 'Flint',
    sex: 'male',
    birth: { when: edtf(`${demo.daysAgo(1500).slice(0, 7)}~`), manner: 'hatched' },
  });
  const shown = await register(demo, 'bram', 'mate-shown', {
    ...gecko,
    name: 'Loam',
    sex: 'male',
    birth: { when: edtf(demo.daysAgo(1400).slice(0, 7)), manner: 'hatched' },
  });
  await register(demo, 'hanne', 'mate-unsexed', {
    ...gecko,
    name: 'Dew',
    birth: { when: edtf(demo.daysAgo(1000).slice(0, 7)), manner: 'hatched' },
  });
  await register(demo, 'ada', 'mate-other', {
    ...gecko,
    sex: 'male',
    birth: { when: edtf(demo.daysAgo(900).slice(0, 7)), manner: 'hatched' },
  });
  demo.goTo(20);
  const { viewer } = await demo.as('bram', 'mate-open');
  await demo.get(SetBreedingAvailability).execute(viewer, {
    animalId: shown,
    open: true,
    until: null,
    offers: ['loan', 'exchange'],
  });
}
