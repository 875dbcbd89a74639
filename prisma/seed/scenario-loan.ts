import { RecordClutch, RecordHatchlings, RecordMating } from '../../libs/breeding/index.js';
import { addDays, exactDay } from '../../libs/kernel/index.js';
import { edtf, register } from './acts.js';
import { type DemoLoader } from './loader.js';
import { give } from './scenario-terms.js';

const tortoise = { taxon: 'Testudo hermanni', originClass: 'bred' } as const;

/** Every second of the young is the lender's, who picks first. */
const TERMS = {
  recallDays: 14,
  keepCosts: 'borrower',
  vetCosts: 'shared',
  onDeath: 'nothing_due',
  value: null,
  youngSplit: { method: 'by_turns', lenderParts: 1, ofParts: 2, firstPick: 'lender', oddOne: 'alternates' },
  youngBredBy: null,
} as const;

/** Ciro lends June a male tortoise for the season. Three young of his have hatched with her and wait to be picked; he is due back. */
export async function aBreedingLoan(demo: DemoLoader): Promise<void> {
  demo.goTo(700);
  const male = await register(demo, 'ciro', 'lent', { ...tortoise, name: 'Thyme', sex: 'male' });
  const female = await register(demo, 'june', 'lent-to', { ...tortoise, name: 'Marjoram', sex: 'female' });
  const on = demo.goTo(170);
  const dueBack = addDays(demo.daysAgo(0), 40);
  await give(demo, ['ciro', 'june'], 'lent', male, on, { kind: 'breeding_loan', dueBack, loanTerms: TERMS });
  const mated = demo.goTo(120);
  const june = async (step: string) => (await demo.as('june', `lent-${step}`)).viewer;
  await demo.get(RecordMating).execute(await june('mating'), {
    damId: female,
    sireId: male,
    basis: 'observed',
    controlled: 'no',
    when: exactDay(mated),
  });
  const foundOn = demo.goTo(87);
  const { clutchId } = await demo.get(RecordClutch).execute(await june('clutch'), {
    damId: female,
    laid: edtf(`${demo.daysAgo(89)}/${foundOn}`),
    foundOn,
    eggCount: 3,
    controlled: 'yes',
  });
  const hatched = demo.goTo(22);
  const young = ['Clover', 'Medick', 'Vetch'].map((name, i) => ({
    name,
    sex: null,
    marks: [],
    eggNumber: i + 1,
    count: 1,
    countEstimated: false,
  }));
  await demo.get(RecordHatchlings).execute(await june('hatched'), {
    clutchId,
    keeperId: null,
    taxonId: null,
    lineId: null,
    when: exactDay(hatched),
    controlled: 'yes',
    originClass: 'bred',
    since: null,
    enclosureId: null,
    young,
    dam: undefined,
    sire: undefined,
  });
}
