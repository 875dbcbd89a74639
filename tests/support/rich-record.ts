import sharp from 'sharp';
import { type PackClient } from './pack-client.js';
import { type RegistryWorld, type TestKeeper } from './registry-world.js';

/** What no pack may tell: it stands in every name, address, message, price, private note and place of others. */
export const CANARY = 'CANARY';
/** A price that stands nowhere else. */
export const PRICE = 424_242;

/** Bounds of an invented animal that may develop without a sire. */
export const PROFILE = {
  clutchSizeMax: { value: 4, source: 'invented' },
  maturityDays: { min: 300, source: 'invented' },
  incubationCelsius: { min: 24, max: 30, source: 'invented' },
  parthenogenesis: { value: 'facultative', source: 'invented' },
};

const PDF = Buffer.from('%PDF-1.4\n1 0 obj\n<<>>\nendobj\ntrailer\n<<>>\n%%EOF\n');
const picture = (shade: number) =>
  sharp({ create: { width: 60, height: 40, channels: 3, background: { r: shade, g: 140, b: 60 } } })
    .withExif({ IFD0: { Artist: `${CANARY} artist` }, IFD3: { GPSLatitudeRef: 'N', GPSLatitude: '48/1 51/1 30/1' } })
    .jpeg()
    .toBuffer();

/** The people, the animals and the transfer of an invented record in which everything a pack can say is said. */
export type RichRecord = {
  readonly breeder: TestKeeper;
  readonly giver: TestKeeper;
  readonly receiver: TestKeeper;
  readonly stranger: TestKeeper;
  readonly main: string;
  readonly lot: string;
  readonly raised: string;
  readonly transferId: string;
  /** Animals that are not shared with the receiver. */
  readonly hidden: readonly string[];
};

/**
 * A female, bred from one of two sires and handed on twice, with a clutch of her own; a lot, and one animal raised out of it.
 * Everything but taxon and line goes in through the public API.
 */
export async function makeRichRecord(client: PackClient, world: RegistryWorld): Promise<RichRecord> {
  client.setDay('2022-01-10');
  const [elder, breeder, giver, receiver, stranger] = [
    await world.keeper(`${CANARY} elder`),
    await world.keeper(`${CANARY} breeder`),
    await world.keeper(`${CANARY} giver`),
    await world.keeper('Reader’s own house'),
    await world.keeper(`${CANARY} stranger`),
  ];
  // The receiver reads the lineage that the breeder shares, and neither the elder's nor the giver's.
  await world.club(elder, breeder, giver);
  await world.club(breeder, receiver);
  const taxonId = await world.taxon();
  await world.db.taxon.update({ where: { id: taxonId }, data: { profile: PROFILE } });
  const { id: lineId } = await world.db.line.create({
    data: { id: crypto.randomUUID(), taxonId, name: 'River line' },
  });
  const birth = (edtf: string) => ({ edtf, manner: 'hatched' });
  const add = (by: TestKeeper, more: object) => world.animal(by, taxonId, more);

  const wild = await add(elder, { sex: 'male', birth: birth('2012'), originClass: 'wild' });
  const virgin = await add(elder, { sex: 'female', birth: birth('2014'), withoutSire: true });
  const dam = await add(breeder, {
    sex: 'female',
    birth: birth('2018'),
    originClass: 'bred',
    lineId,
    sireId: wild,
    damId: virgin,
  });
  const sire = await add(breeder, { sex: 'male', birth: birth('2018'), originClass: 'bred' });
  const twice = await add(breeder, { sex: 'male', birth: birth('2018'), originClass: 'bred' });
  const other = await add(breeder, { sex: 'male', birth: birth('2019'), originClass: 'bred' });
  const enclosureId = (
    await client.do(breeder, 'recordEnclosure', {
      keeperId: breeder.keeperId,
      name: `${CANARY} house`,
      controlled: 'yes',
    })
  ).enclosure.id;
  await client.do(breeder, 'placeAnimals', { enclosureId, animalIds: [dam, sire, other] });

  client.setDay('2022-12-20');
  const { clutch: first } = await client.do(breeder, 'recordClutch', {
    damId: dam,
    enclosureId,
    eggCount: 2,
    controlled: 'yes',
    laid: '2022-12-19~',
    foundOn: '2022-12-20',
  });
  const eggs = (eggs: number[] | null, kind: string, when: string, more: object = {}) =>
    client.do(breeder, 'recordEggEvents', { clutchId: first.id, kind, when, ...(eggs ? { eggs } : {}), ...more });
  await eggs(null, 'incubated', '2022-12-20', { celsius: 26.5, incubator: `${CANARY} incubator` });
  client.setDay('2023-03-01');
  await eggs([1], 'candled', '2023-01-05', { candling: 'fertile' });
  await eggs([2], 'failed', '2023-02-01');
  const main = await add(breeder, {
    lineId,
    name: 'Pip',
    sex: 'male',
    birth: birth('2023-02~'),
    originClass: 'bred',
    damId: dam,
    sireCandidates: [
      { parentId: twice, probability: 0.75 },
      { parentId: other, probability: 0.25 },
    ],
    parentsBasis: 'shared_enclosure',
    since: '2023-02-28',
    arrivedBy: 'born',
    marks: [{ kind: 'ring', value: 'R-100', size: '5.5 mm', when: '2023-02' }],
  });
  await client.do(breeder, 'recordHatching', {
    animalId: main,
    clutchId: first.id,
    eggNumber: 1,
    controlled: 'yes',
    when: '2023-02-19',
  });
  await client.do(breeder, 'mergeRecords', { keepId: sire, mergeId: twice, reason: 'Registered by two of us.' });

  // What was said, and what was corrected.
  const fact = (by: TestKeeper, animalId: string, said: object) => client.do(by, 'recordFact', { animalId, ...said });
  client.setDay('2023-06-01');
  await fact(breeder, main, {
    sex: { sex: 'female', method: 'probing', confidence: 'likely' },
    when: '2023-05-30',
    reason: 'Looked at too young.',
  });
  const birthFact = await world.db.animalFact.findFirstOrThrow({ where: { animalId: main, kind: 'birth' } });
  await client.do(breeder, 'supersedeFact', {
    factId: birthFact.id,
    when: '2023-02-19',
    birthManner: 'hatched',
    reason: 'The book of the incubator says so.',
  });
  await fact(breeder, main, { weightGrams: 21.5, when: '2023-05-30' });
  const slip = await fact(breeder, main, { weightGrams: 44, when: '2023-05-31' });
  await client.do(breeder, 'withdrawFact', { factId: slip.factId, reason: 'Another animal was on the scales.' });
  const measured = (measurement: object) => fact(breeder, main, { measurement, when: '2023-05-30' });
  await measured({ quantity: 'length', value: 8.4, unit: 'cm', measure: 'carapace_straight' });
  await measured({ quantity: 'temperature', value: 27, unit: 'celsius', of: 'animal' });
  await fact(breeder, main, { seen: true, when: '2023-05-31' });
  await fact(breeder, main, { note: { topic: 'care', text: 'Eats dandelion.' }, when: '2023-05-31' });
  await fact(breeder, main, { note: { topic: 'health', text: 'Left eye was swollen.' }, when: '2023-05-31' });
  await fact(breeder, main, { note: { topic: 'private', text: `${CANARY} note` }, when: '2023-05-31' });
  await fact(breeder, main, {
    acquisition: { manner: 'bred_here', country: 'FR', statedBy: `${CANARY} said so` },
    when: '2023-02-28',
  });
  await fact(breeder, main, {
    trait: {
      ...{ gene: 'albino', state: 'carrier', alleles: ['a', '+'], basis: 'tested', certainty: 'certain' },
      statedBy: `${CANARY} laboratory`,
    },
    when: '2023-05-31',
  });
  const restate = async (by: TestKeeper, animalId: string, kinds: string[], when: string): Promise<void> => {
    const rows = await world.db.animalFact.findMany({
      where: { animalId, kind: { in: kinds }, supersededAt: null },
      orderBy: { id: 'asc' },
    });
    for (const { id: factId } of rows)
      await client.do(by, 'supersedeFact', { factId, when, reason: 'It was a day earlier.' });
  };
  const once = ['origin', 'name', 'acquisition', 'seen', 'weight', 'length', 'temperature', 'note', 'trait'];
  await restate(breeder, main, once, '2023-05-29');
  await client.do(breeder, 'recordParent', {
    animalId: main,
    role: 'sire',
    candidates: [
      { parentId: sire, probability: 0.9 },
      { parentId: other, probability: 0.1 },
    ],
    basis: 'genetic_test',
    evidence: 'Report 17 of the test.',
    when: '2023-05',
    reason: 'Tested.',
  });
  client.setDay('2023-07-01');
  const lost = { animalId: main, cause: 'A gate stood open.', certainty: 'certain' };
  await client.do(breeder, 'recordFate', { ...lost, fate: 'missing', when: '2023-06-20' });
  await client.do(breeder, 'recordFate', {
    animalId: main,
    fate: 'found',
    when: '2023-06-22',
    foundBy: `${CANARY} neighbour`,
  });

  // Marks, a photo documentation, and a quarantine that a newcomer starts anew.
  const ring = await world.db.animalMark.findFirstOrThrow({ where: { animalId: main } });
  await client.do(breeder, 'endMark', { markId: ring.seriesId, cause: 'lost', until: '2023-06-21' });
  const tag = (
    await client.do(breeder, 'recordMark', { animalId: main, kind: 'tag', value: 'T-17', when: '2023-06-25' })
  ).mark;
  await client.do(breeder, 'correctMark', { markId: tag.id, value: 'T-71', reason: 'Read the wrong way round.' });
  const album = (
    await client.do(breeder, 'recordMark', {
      ...{ animalId: main, kind: 'photo_documentation', value: 'plastron', when: '2023-06-25' },
      ...{ fixedView: 'plastron from below', withScale: true, intervalDays: 365 },
    })
  ).mark;
  const sessions: string[] = [];
  for (const [shade, takenOn] of [
    [90, '2023-06-25'],
    [120, '2023-06-30'],
  ] as const) {
    const path = `/animals/${main}/files`;
    const told = { name: `${CANARY} at home.jpg`, caption: `From below, ${takenOn}`, when: takenOn };
    const fileId = await client.put(breeder, path, await picture(shade), 'image/jpeg', told);
    const input = { markId: album.id, takenOn, fileIds: [fileId] };
    sessions.push((await client.do(breeder, 'recordPhotoSession', input)).sessionId);
  }
  await client.do(breeder, 'confirmPhotoComparison', {
    sessionId: sessions[1],
    earlierSessionId: sessions[0],
    verdict: 'same',
  });
  const companion = await add(breeder, { sex: 'female', since: '2023-06-01' });
  const { quarantine } = await client.do(breeder, 'openQuarantine', {
    ...{ keeperId: breeder.keeperId, name: `${CANARY} room`, animalIds: [main] },
    ...{ enteredOn: '2023-06-23', days: 20, restartScope: 'any' },
  });
  await client.do(breeder, 'joinQuarantine', {
    ...{ groupId: quarantine.id, animalIds: [companion], enteredOn: '2023-06-26' },
  });
  await client.do(breeder, 'releaseQuarantine', {
    ...{ groupId: quarantine.id, on: '2023-06-30', reason: `${CANARY} reason` },
  });

  // The first hand-over, and what the giver did.
  client.setDay('2024-03-01');
  await client.handOver(breeder, giver, [[main, 1]], '2024-03-01');
  client.setDay('2024-09-02');
  const mate = await add(elder, { sex: 'male', birth: birth('2021') });
  const second = await add(giver, { sex: 'female', birth: birth('2022') });
  await client.do(giver, 'recordMating', {
    ...{ damId: main, sireId: mate, basis: 'observed', controlled: 'yes', when: '2024-09-01' },
  });
  client.setDay('2025-01-10');
  const { clutch: laid } = await client.do(giver, 'recordClutch', {
    ...{ damId: main, eggCount: 3, controlled: 'no', laid: '2024-10-01', foundOn: '2024-10-02' },
  });
  const laidEggs = (eggs: number[], kind: string, when: string, more: object = {}) =>
    client.do(giver, 'recordEggEvents', { clutchId: laid.id, kind, when, eggs, ...more });
  await laidEggs([1, 2, 3], 'incubated', '2024-10-02', { celsius: 27 });
  await laidEggs([2], 'candled', '2024-10-20', { candling: 'clear' });
  await laidEggs([3], 'infertile', '2024-11-20');
  const { young } = await client.do(giver, 'recordHatchlings', {
    clutchId: laid.id,
    ...{ when: '2024-12-05', controlled: 'no', young: [{ eggNumber: 1, name: 'First' }] },
  });
  await client.do(giver, 'recordClutch', {
    damCandidates: [
      { parentId: main, probability: 0.6 },
      { parentId: second, probability: 0.4 },
    ],
    ...{ laid: '2025-01-05/2025-01-08', eggCount: 1 },
  });
  const { document } = await client.do(giver, 'recordDocument', {
    ...{ keeperId: giver.keeperId, kind: 'permit', permitForm: 'import_permit', number: 'E-2024-0815' },
    ...{ authority: 'An authority', jurisdiction: 'DE-BY', validFrom: '2024-03-01', validUntil: '2024-08-31' },
    covers: [{ animalId: main }],
  });
  await client.put(giver, `/documents/${document.id}/files`, PDF, 'application/pdf', { name: `${CANARY} scan.pdf` });

  // A lot, and one animal raised out of it.
  const lot = await world.lot(giver, taxonId, 10, {
    ...{ estimated: true, birth: birth('2024'), originClass: 'bred', name: 'The ten', founder: true },
  });
  await client.do(giver, 'loseFromLot', { lotId: lot, cause: 'missing', count: 2 });
  await client.do(giver, 'findInLot', { lotId: lot, count: 1 });
  await client.do(giver, 'recountLot', { lotId: lot, count: 8, estimated: true, reason: 'Counted again.' });
  await client.do(giver, 'splitLot', { lotId: lot, count: 2 });
  const [raised] = (await client.do(giver, 'raiseFromLot', { lotId: lot, animals: [{ name: 'Solo', sex: 'female' }] }))
    .animals;
  const raisedId = raised?.id ?? '';
  await fact(giver, raisedId, { hybrid: { of: ['Testudo hermanni', 'Testudo graeca'] }, when: '2025-01-10' });
  await restate(giver, raisedId, ['hybrid'], '2025-01-09');

  // The second hand-over.
  client.setDay('2025-02-01');
  const animals: [string, number][] = [
    [main, 1],
    [lot, 5],
    [raisedId, 1],
  ];
  const transferId = await client.handOver(giver, receiver, animals, '2025-02-01', {
    ...{ kind: 'sale', message: `${CANARY} message`, price: { minor: PRICE, currency: 'EUR' } },
  });
  const hidden = [wild, virgin, mate, second, young[0]?.id ?? ''];
  return { breeder, giver, receiver, stranger, main, lot, raised: raisedId, transferId, hidden };
}
