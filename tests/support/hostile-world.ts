import { type Known } from './hostile-values.js';
import { type RegistryWorld, type TestKeeper } from './registry-world.js';
import { type TestApp } from './test-app.js';

/** Two keepers of one club with something of every kind between them. */
export type HostileWorld = { readonly one: TestKeeper; readonly other: TestKeeper; readonly known: Known };

/** How many ids of one table are named. */
const IDS_A_TABLE = 8;

/** Tables whose ids end the session of whoever names them, or are nobody's to name. */
const LEFT_OUT = new Set(['account_session', 'session', 'refresh_token']);

/** Makes them through the API. `today`: the day it happens on. */
export async function makeHostileWorld(test: TestApp, world: RegistryWorld, today: string): Promise<HostileWorld> {
  const [one, other] = [await world.keeper('One'), await world.keeper('Other')];
  const inputs = new Map<string, object[]>();
  const write = async <T = never>(by: TestKeeper, name: string, input: object, fields = '__typename'): Promise<T> => {
    const type = `${name[0]?.toUpperCase()}${name.slice(1)}Input!`;
    inputs.set(name, [...(inputs.get(name) ?? []), input]);
    const document = `mutation ($input: ${type}) { ${name}(input: $input) { ${fields} } }`;
    return (await test.get<Record<string, T>>(document, { input }, by.token))[name] as T;
  };
  await write(one, 'foundClub', { keeperId: one.keeperId, name: 'A club', slug: 'a-club' });
  await write(other, 'applyToClub', { keeperId: other.keeperId, slug: 'a-club' });
  const application = await world.db.clubApplication.findFirstOrThrow();
  await write(one, 'answerApplication', { applicationId: application.id, admit: true });
  const taxonId = await world.taxon();
  const listing = { clubId: application.clubId, listed: true, region: 'AT-7', taxonIds: [taxonId] };
  await write(one, 'setClubListing', listing);
  for (const keeper of [one, other]) await stock(world, write, keeper, taxonId, today);

  type Made = { id: string; animalId: string };
  const offer = async (more: object = {}, animal: object = {}): Promise<Made> => {
    const animalId = await world.animal(one, taxonId, { since: '2026-01-05', ...animal });
    const input = {
      fromKeeperId: one.keeperId,
      toKeeperId: other.keeperId,
      kind: 'gift',
      items: [{ animalId }],
      ...more,
    };
    const { transfer } = await write<{ transfer: { id: string } }>(one, 'offerTransfer', input, 'transfer { id }');
    return { id: transfer.id, animalId };
  };
  const sent = async (more: object = {}, animal: object = {}): Promise<Made> => {
    const made = await offer(more, animal);
    await write(other, 'acceptTransfer', { transferId: made.id });
    await write(one, 'sendTransfer', { transferId: made.id, sentOn: today, way: 'in_person', reason: 'agreed' });
    return made;
  };
  const received = async (more: object = {}, animal: object = {}): Promise<Made> => {
    const made = await sent(more, animal);
    const items = [{ animalId: made.animalId, arrivals: [{ state: 'well', count: 1 }] }];
    await write(other, 'receiveTransfer', { transferId: made.id, receivedOn: today, items });
    return made;
  };
  await offer({ conditions: [{ kind: 'other', text: 'A lamp goes along.' }] });
  const clutch = await world.db.clutch.findFirstOrThrow({ where: { keeperId: one.keeperId } });
  await offer({ eggs: [{ clutchId: clutch.id, numbers: [1] }] });
  await write(other, 'acceptTransfer', { transferId: (await offer()).id });
  await sent();
  const owed = await received({ kind: 'sale', title: 'when_paid', price: { minor: 1_000, currency: 'EUR' } });
  await write(other, 'declarePayment', { transferId: owed.id, minor: 400, paidOn: today });
  await received({ kind: 'breeding_loan', dueBack: '2027-01-01' });
  await lend(write, { one, other, today }, (terms) => received(terms, { sex: 'female' }));
  const given = await received();
  const share = { parts: 1, of: 2 };
  const claim = { keeperId: one.keeperId, animalId: given.animalId, share, since: today, statement: 'Half of it.' };
  await write(one, 'claimOwnership', claim);
  await write(one, 'inviteToKeeper', { keeperId: one.keeperId, email: 'helper@example.org', role: 'helper' });
  await write(other, 'askHolder', { animalId: (await sent()).animalId, message: 'Is it free?' });
  await write(one, 'grantReading', { animalId: (await offer()).animalId, toKeeperId: other.keeperId, until: today });
  const handed = await offer();
  const { code } = await write<{ code: string }>(one, 'openHandOver', { transferId: handed.id }, 'code');
  const items = [{ animalId: handed.animalId, arrivals: [{ state: 'well', count: 1 }] }];
  inputs.set('confirmHandOver', [{ transferId: handed.id, code, items }]);
  const outsider = { toKeeperId: null, toOutsideParty: { name: 'A buyer' } };
  await offer(outsider);
  return { one, other, known: { ...(await knownOf(world)), inputs } };
}

/** A loan of a dam with terms, another day that is asked for, and young of which one is picked. */
async function lend(
  write: Write,
  { one, other, today }: Pick<HostileWorld, 'one' | 'other'> & { today: string },
  received: (terms: object) => Promise<{ id: string; animalId: string }>,
): Promise<void> {
  const youngSplit = { method: 'by_turns', lenderParts: 1, ofParts: 2, firstPick: 'lender', oddOne: 'alternates' };
  const value = { minor: 90_000, currency: 'EUR' };
  const loanTerms = { recallDays: 0, keepCosts: 'borrower', onDeath: 'value_due', value, youngSplit };
  const kind = 'breeding_loan';
  const { id: transferId, animalId: damId } = await received({ kind, dueBack: '2027-06-01', loanTerms });
  const ask = async (dueBack: string): Promise<string> => {
    const fields = 'transfer { loan { days { id } } }';
    const input = { transferId, dueBack };
    type Asked = { transfer: { loan: { days: { id: string }[] } } };
    const { transfer } = await write<Asked>(other, 'askLoanExtension', input, fields);
    return transfer.loan.days.at(-1)?.id ?? '';
  };
  await write(one, 'answerLoanExtension', { extensionId: await ask('2027-07-01'), agree: true });
  await write(other, 'withdrawLoanExtension', { extensionId: await ask('2027-08-01') });
  await write(one, 'recallLoan', { transferId, dueBack: '2027-05-01' });
  await ask('2027-09-01');
  const laid = { damId, laid: today, eggCount: 4 };
  const { clutch } = await write<{ clutch: { id: string } }>(other, 'recordClutch', laid, 'clutch { id }');
  const hatched = { clutchId: clutch.id, when: today, young: [{}, {}, { count: 2 }] };
  const { young } = await write<{ young: { id: string }[] }>(other, 'recordHatchlings', hatched, 'young { id }');
  await write(one, 'pickYoung', { transferId, clutchId: clutch.id, animalIds: [young[0]?.id] });
  await write(other, 'recordDeath', { animalId: young[1]?.id, on: today });
  await write(other, 'correctFate', { animalId: young[1]?.id, takeBack: true, reason: 'Another one.' });
}

type Write = <T = never>(by: TestKeeper, name: string, input: object, fields?: string) => Promise<T>;

async function stock(
  world: RegistryWorld,
  write: Write,
  keeper: TestKeeper,
  taxonId: string,
  today: string,
): Promise<void> {
  const { keeperId } = keeper;
  const since = '2026-01-05';
  const dam = await world.animal(keeper, taxonId, { sex: 'female', since, name: 'Dam' });
  const sire = await world.animal(keeper, taxonId, { sex: 'male', since });
  await world.animal(keeper, taxonId, {
    sireId: sire,
    damId: dam,
    since: today,
    birth: { edtf: today, manner: 'hatched' },
  });
  for (const count of [5, 9]) await world.lot(keeper, taxonId, count, { since });
  const lotId = await world.lot(keeper, taxonId, 50, { since });
  await write(keeper, 'splitLot', { lotId, count: 1 });
  await write(keeper, 'raiseFromLot', { lotId, animals: [{ name: 'Raised' }] });
  await write(keeper, 'findInLot', { lotId, count: 1 }).catch(() => undefined);
  await write(keeper, 'loseFromLot', { lotId, count: 1, cause: 'died' });
  await write(keeper, 'recountLot', { lotId, count: 45, reason: 'Counted.' });
  const { enclosure } = await write<{ enclosure: { id: string } }>(
    keeper,
    'recordEnclosure',
    { keeperId, name: 'House' },
    'enclosure { id }',
  );
  const enclosureId = enclosure.id;
  await write(keeper, 'placeAnimals', { animalIds: [dam, sire], enclosureId, from: since });
  await write(keeper, 'moveFamily', { fromEnclosureId: enclosureId, toEnclosureId: enclosureId }).catch(
    () => undefined,
  );
  await write(keeper, 'recordMating', { damId: dam, sireId: sire, when: '2026-02-01' });
  const { clutch } = await write<{ clutch: { id: string } }>(
    keeper,
    'recordClutch',
    { damId: dam, eggCount: 4, laid: '2026-03-01', enclosureId },
    'clutch { id }',
  );
  await write(keeper, 'recordHatchlings', { clutchId: clutch.id, young: [{ eggNumber: 4 }], when: today });
  await write(keeper, 'recordEggEvents', {
    clutchId: clutch.id,
    kind: 'candled',
    candling: 'fertile',
    eggs: [1],
    when: '2026-03-05',
  });
  await write(keeper, 'planPairing', { damId: dam, sireId: sire, from: today });
  await write(keeper, 'recordMark', { animalId: dam, kind: 'feature', value: `a scar of ${keeperId}` });
  await write(keeper, 'recordMark', {
    animalId: sire,
    kind: 'photo_documentation',
    fixedView: 'plastron',
    withScale: true,
    intervalDays: 365,
  });
  await write(keeper, 'recordFact', { animalId: dam, weightGrams: 12 });
  await write(keeper, 'openCollection', { keeperId, name: 'Frogs' });
  const covers = [{ animalId: dam }];
  await write(keeper, 'setAnimalSharing', { animalIds: [dam], holdingsShown: 'club', lineageWithheld: false });
  await write(keeper, 'recordDocument', {
    keeperId,
    kind: 'permit',
    number: '1',
    authority: 'A',
    jurisdiction: 'DE',
    covers,
  });
  await write(keeper, 'openQuarantine', { keeperId, animalIds: [dam], enteredOn: today });
  await write(keeper, 'setSharing', { keeperId, holdingsShown: 'club', lineageShared: true });
}

async function knownOf({ db }: RegistryWorld): Promise<Omit<Known, 'inputs'>> {
  const ids = new Map<string, string[]>();
  const tables = await db.$queryRaw<{ name: string }[]>`
    SELECT c.table_name AS name FROM information_schema.columns c JOIN information_schema.tables t USING (table_schema, table_name)
    WHERE table_schema = 'public' AND column_name = 'id' AND data_type = 'uuid' AND table_type = 'BASE TABLE' ORDER BY 1`;
  for (const { name } of tables) {
    if (LEFT_OUT.has(name)) continue;
    const rows = await db.$queryRawUnsafe<{ id: string }[]>(
      `SELECT id::text AS id FROM "${name}" ORDER BY id DESC LIMIT ${IDS_A_TABLE}`,
    );
    if (rows.length > 0)
      ids.set(
        name,
        rows.map(({ id }) => id),
      );
  }
  const animals = await db.animal.findMany({ take: 4, orderBy: { id: 'desc' } });
  return { ids, texts: animals.map(({ registerNumber }) => registerNumber) };
}
