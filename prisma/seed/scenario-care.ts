import { RecordClutch, RecordMating } from '../../libs/breeding/index.js';
import { RecordDocument } from '../../libs/document/index.js';
import { OpenQuarantine } from '../../libs/health/index.js';
import { addDays } from '../../libs/kernel/index.js';
import { edtf, register } from './acts.js';
import { type DemoLoader } from './loader.js';

/** A licence that lapses in twenty days. */
export async function aDocumentThatLapses(demo: DemoLoader): Promise<void> {
  demo.goTo(345);
  const { viewer, keeperId } = await demo.as('bram', 'licence');
  await demo.get(RecordDocument).execute(viewer, {
    keeperId,
    kind: 'licence',
    permitForm: null,
    number: 'XA-NO 2201/77',
    authority: 'Northern District Nature Office',
    jurisdiction: 'XA-NO',
    validFrom: demo.daysAgo(345),
    validUntil: addDays(demo.daysAgo(0), 20),
    covers: [{ what: 'taxon', taxonId: await demo.taxonId('Dendrobates tinctorius'), quantity: 60 }],
  });
}

/** A newcomer in quarantine. */
export async function aQuarantine(demo: DemoLoader): Promise<void> {
  const day = demo.goTo(25);
  const snake = await register(demo, 'tamarack', 'quarantine-snake', {
    taxon: 'Python regius',
    name: 'Basalt',
    sex: 'female',
    originClass: 'unknown',
  });
  const { viewer, keeperId } = await demo.as('tamarack', 'quarantine');
  await demo.get(OpenQuarantine).execute(viewer, { keeperId, animalIds: [snake], enteredOn: day, name: 'Back room' });
}

/** A clutch that is due to hatch: found some days after it was laid. */
export async function aClutchDue(demo: DemoLoader): Promise<void> {
  demo.goTo(95);
  const [sire, dam] = [await demo.animalNamed('Pepper'), await demo.animalNamed('Nettle')];
  await demo.get(RecordMating).execute((await demo.as('odile', 'due-mating')).viewer, {
    damId: dam,
    sireId: sire,
    basis: 'shared_enclosure',
    controlled: 'yes',
    when: edtf(`${demo.daysAgo(120)}/${demo.daysAgo(95)}`),
  });
  const foundOn = demo.goTo(58);
  await demo.get(RecordClutch).execute((await demo.as('odile', 'due-clutch')).viewer, {
    damId: dam,
    laid: edtf(`${demo.daysAgo(66)}/${demo.daysAgo(58)}`),
    foundOn,
    eggCount: 2,
    controlled: 'yes',
  });
}
