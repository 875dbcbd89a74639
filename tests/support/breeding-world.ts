import { type TestApp, type GraphqlError } from './test-app.js';
import { type RegistryWorld, type TestKeeper } from './registry-world.js';

/** An invented animal that lays one egg every 75 to 95 days: common practice, no published source. */
export const SINGLE_EGG = {
  clutchSizeMax: { value: 1, source: 'common practice, no published source' },
  clutchIntervalDays: { min: 75, max: 95, source: 'common practice, no published source' },
  matingToLayingMinDays: { value: 10, source: 'invented bound of 10 days' },
  spermStorageMaxDays: { value: 100, source: 'invented bound of 100 days' },
  incubationDays: { min: 50, max: 70, source: 'invented bounds of 50 to 70 days' },
  incubationCelsius: { min: 24, max: 30, source: 'invented bounds of 24 to 30 °C' },
  maturityDays: { min: 300, source: 'invented bound of 300 days' },
  reproduction: { value: 'egg_laying', source: 'invented' },
};

const WARNINGS = 'warnings { code message }';
const MUTATIONS = {
  recordEnclosure: 'RecordEnclosureInput!) { recordEnclosure(input: $input) { enclosure { id } } }',
  placeAnimals: `PlaceAnimalsInput!) { placeAnimals(input: $input) { enclosure { id } ${WARNINGS} } }`,
  correctStay: 'CorrectStayInput!) { correctStay(input: $input) { stayId animal { id } } }',
  recordMating: 'RecordMatingInput!) { recordMating(input: $input) { mating { id } } }',
  recordClutch: `RecordClutchInput!) { recordClutch(input: $input) { clutch { id } ${WARNINGS} } }`,
  recordEggEvents: `RecordEggEventsInput!) { recordEggEvents(input: $input) { clutch { id } ${WARNINGS} } }`,
  correctEggEvent: `CorrectEggEventInput!) { correctEggEvent(input: $input) { clutch { id } ${WARNINGS} } }`,
  recordHatchlings: `RecordHatchlingsInput!) { recordHatchlings(input: $input) { young { id registerNumber } ${WARNINGS} } }`,
  recordHatching: `RecordHatchingInput!) { recordHatching(input: $input) { hatching { id eggNumber } ${WARNINGS} } }`,
  correctBreedingFact: 'CorrectBreedingFactInput!) { correctBreedingFact(input: $input) { factId } }',
  moveFamily: `MoveFamilyInput!) { moveFamily(input: $input) { enclosure { id } animals clutches ${WARNINGS} } }`,
  planPairing: 'PlanPairingInput!) { planPairing(input: $input) { pairing { id state version } } }',
  movePairing: 'MovePairingInput!) { movePairing(input: $input) { pairing { id state until version } } }',
} as const;

type Name = keyof typeof MUTATIONS;
type Made = { id: string };

/** The answer of a mutation as these tests read it; each names what it gives. */
export type Payload = {
  enclosure: Made;
  clutch: Made;
  mating: Made;
  hatching: Made & { eggNumber: number | null };
  pairing: Made & { state: string; until: string | null; version: number };
  young: { id: string; registerNumber: string }[];
  warnings: { code: string; message: string }[];
  stayId: string | null;
  factId: string | null;
  animals: number;
  clutches: number;
};

/** Breeding and housing through the API. */
export class BreedingWorld {
  constructor(
    private readonly server: TestApp,
    private readonly world: RegistryWorld,
  ) {}

  async send(by: TestKeeper, name: Name, input: object, headers: Record<string, string> = {}) {
    const document = `mutation ($input: ${MUTATIONS[name]}`;
    return this.server.ask<Record<string, Payload>>(document, { input }, by.token, headers);
  }

  /** Sends one mutation and gives its payload. */
  async do(by: TestKeeper, name: Name, input: object, headers: Record<string, string> = {}): Promise<Payload> {
    const { data, errors } = await this.send(by, name, input, headers);
    const made = data?.[name];
    if (errors !== undefined || made === undefined) throw new Error(`${name}: ${JSON.stringify(errors)}`);
    return made;
  }

  /** Sends one mutation that is to be refused, and gives the error's extensions with its message. */
  async refused(by: TestKeeper, name: Name, input: object): Promise<GraphqlError['extensions'] & { message: string }> {
    const { errors } = await this.send(by, name, input);
    const [error] = errors ?? [];
    if (error === undefined) throw new Error(`${name} was not refused.`);
    return { ...error.extensions, message: error.message };
  }

  async taxon(profile: object = SINGLE_EGG): Promise<string> {
    const id = await this.world.taxon();
    await this.world.db.taxon.update({ where: { id }, data: { profile } });
    return id;
  }

  async enclosure(by: TestKeeper, name: string): Promise<string> {
    return (await this.do(by, 'recordEnclosure', { keeperId: by.keeperId, name, controlled: 'yes' })).enclosure.id;
  }

  /** A grown pair, in an enclosure since 2026-01-01 where one is named. */
  async pair(by: TestKeeper, taxonId: string, enclosureId?: string): Promise<{ dam: string; sire: string }> {
    this.server.setDay('2026-01-01');
    const birth = { edtf: '2020', manner: 'hatched' };
    const dam = await this.world.animal(by, taxonId, { sex: 'female', birth });
    const sire = await this.world.animal(by, taxonId, { sex: 'male', birth });
    if (enclosureId !== undefined) await this.do(by, 'placeAnimals', { enclosureId, animalIds: [dam, sire] });
    this.server.setDay('2026-06-10');
    return { dam, sire };
  }
}

/** The codes of a payload's warnings, in order. */
export const codes = (payload: Payload): string[] => payload.warnings.map(({ code }) => code).toSorted();
