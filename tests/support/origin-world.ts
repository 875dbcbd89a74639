import { type TestApp } from './test-app.js';
import { type RegistryWorld, type TestKeeper } from './registry-world.js';

/** Bounds of the taxon of these tests, invented. */
export const PROFILE = {
  matingToLayingMinDays: { value: 20, source: 'invented bound of 20 days' },
  spermStorageMaxDays: { value: 700, source: 'invented bound of 700 days' },
  incubationDays: { min: 50, max: 100, source: 'invented bounds of 50 to 100 days' },
  appendix: { value: 'II', source: 'invented' },
};

const MUTATIONS = {
  recordFact: 'RecordFactInput!) { recordFact(input: $input) { animal { id } } }',
  recordParent: 'RecordParentInput!) { recordParent(input: $input) { animal { id } } }',
  recordEnclosure: 'RecordEnclosureInput!) { recordEnclosure(input: $input) { enclosure { id controlled } } }',
  placeAnimals: 'PlaceAnimalsInput!) { placeAnimals(input: $input) { enclosure { id } } }',
  recordMating: 'RecordMatingInput!) { recordMating(input: $input) { mating { id } } }',
  recordClutch: 'RecordClutchInput!) { recordClutch(input: $input) { clutch { id } } }',
  recordHatching: 'RecordHatchingInput!) { recordHatching(input: $input) { hatching { id } } }',
  correctBreedingFact: 'CorrectBreedingFactInput!) { correctBreedingFact(input: $input) { factId animal { id } } }',
} as const;

/** A finding as these tests read it. */
export type Finding = {
  claim: string;
  verdict: string;
  askFirst: boolean;
  missing: string[];
  items: { part: string; weighs: string; words: string; factIds: string[]; source: string | null; askFirst: boolean }[];
  generation: { lowest: number; highest: number | null };
  sourceCode: { codes: string[]; alongside: string[]; words: string };
  caution: string;
};

export const FINDING = `query ($animalId: ID!, $purpose: OriginPurpose) { originFinding(animalId: $animalId, purpose: $purpose) {
  claim verdict askFirst missing items { part weighs words factIds source askFirst } generation { lowest highest }
  sourceCode { codes alongside words } caution } }`;

/** Records of origin through the API. */
export class OriginWorld {
  constructor(
    private readonly server: TestApp,
    private readonly world: RegistryWorld,
  ) {}

  /** Sends one mutation as a keeper and gives the whole answer. */
  send<T = Record<string, Record<string, { id: string }>>>(
    by: TestKeeper,
    name: keyof typeof MUTATIONS,
    input: object,
  ) {
    return this.server.ask<T>(`mutation ($input: ${MUTATIONS[name]}`, { input }, by.token);
  }

  /** Sends one mutation and gives the id of what it made. */
  async do(by: TestKeeper, name: keyof typeof MUTATIONS, input: object): Promise<string> {
    const { data, errors } = await this.send(by, name, input);
    const made = Object.values(data?.[name] ?? {})[0];
    if (errors !== undefined || made === undefined) throw new Error(`${name}: ${JSON.stringify(errors)}`);
    return made.id;
  }

  async taxon(): Promise<string> {
    const id = await this.world.taxon();
    await this.world.db.taxon.update({ where: { id }, data: { profile: PROFILE } });
    return id;
  }

  async finding(by: TestKeeper, animalId: string): Promise<Finding> {
    const { originFinding } = await this.server.get<{ originFinding: Finding }>(FINDING, { animalId }, by.token);
    return originFinding;
  }

  /** A dam from the wild that laid 9 days after she arrived, and her young, claimed bred. */
  async contradictory(keeper: TestKeeper, taxonId: string): Promise<{ dam: string; young: string; clutch: string }> {
    this.server.setDay('2026-01-10');
    const dam = await this.world.animal(keeper, taxonId, { sex: 'female', originClass: 'wild' });
    await this.do(keeper, 'recordFact', {
      animalId: dam,
      when: '2026-01-10',
      acquisition: { manner: 'wild_taken', country: 'MG' },
    });
    this.server.setDay('2026-01-19');
    const clutch = await this.do(keeper, 'recordClutch', {
      damId: dam,
      laid: '2026-01-19',
      eggCount: 2,
      controlled: 'yes',
    });
    this.server.setDay('2026-03-25');
    const young = await this.world.animal(keeper, taxonId, {
      originClass: 'bred',
      birth: { edtf: '2026-03-25', manner: 'hatched' },
      arrivedBy: 'born',
      damId: dam,
    });
    await this.do(keeper, 'recordHatching', {
      clutchId: clutch,
      animalId: young,
      when: '2026-03-25',
      controlled: 'yes',
    });
    return { dam, young, clutch };
  }

  /** A dam with no more than a year of birth, a clutch found some time in a month, young that hatched: nothing exact, all of it honest. */
  async honest(keeper: TestKeeper, taxonId: string): Promise<{ dam: string; young: string; clutch: string }> {
    this.server.setDay('2026-02-20');
    const dam = await this.world.animal(keeper, taxonId, {
      sex: 'female',
      birth: { edtf: '2019~', manner: 'unknown' },
    });
    const clutch = await this.do(keeper, 'recordClutch', { damId: dam, laid: '2026-02', foundOn: '2026-02-20' });
    this.server.setDay('2026-05-05');
    const young = await this.world.animal(keeper, taxonId, { originClass: 'bred', arrivedBy: 'born', damId: dam });
    await this.do(keeper, 'recordHatching', { clutchId: clutch, animalId: young, when: '2026-04/2026-05' });
    return { dam, young, clutch };
  }
}
