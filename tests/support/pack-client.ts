import { createHash } from 'node:crypto';
import { unzipSync } from 'fflate';
import { type RecordPack } from '../../libs/exchange/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { type TestKeeper } from './registry-world.js';
import { type TestApp } from './test-app.js';

/** What each mutation is asked to give back. */
const GIVES = {
  acceptTransfer: 'transfer { id }',
  confirmPhotoComparison: 'animal { id }',
  correctMark: 'mark { id }',
  endMark: 'mark { id }',
  findInLot: 'lot { id }',
  joinQuarantine: 'quarantine { id }',
  loseFromLot: 'lot { id }',
  mergeRecords: 'animal { id }',
  offerTransfer: 'claimCode transfer { id }',
  openQuarantine: 'quarantine { id }',
  placeAnimals: 'enclosure { id }',
  raiseFromLot: 'animals { id }',
  receiveTransfer: 'transfer { id }',
  recordClutch: 'clutch { id }',
  recordDocument: 'document { id }',
  recordEggEvents: 'clutch { id }',
  recordEnclosure: 'enclosure { id }',
  recordFact: 'factId',
  recordFate: 'animal { id }',
  recordHatching: 'hatching { id }',
  recordHatchlings: 'young { id }',
  recordMark: 'mark { id }',
  recordMating: 'mating { id }',
  recordParent: 'animal { id }',
  recordPhotoSession: 'sessionId',
  recountLot: 'lot { id }',
  registerAnimal: 'animal { id }',
  registerLot: 'lot { id }',
  releaseQuarantine: 'quarantine { id }',
  sendTransfer: 'transfer { id }',
  splitLot: 'newLot { id }',
  supersedeFact: 'factId',
  takeUpTransfer: 'transfer { id }',
  undoMerge: 'animal { id }',
  withdrawFact: 'factId',
} as const;

type Made = { id: string };
type Given = Record<
  'animal' | 'lot' | 'newLot' | 'mark' | 'clutch' | 'document' | 'enclosure' | 'quarantine' | 'transfer',
  Made
> & { animals: Made[]; young: Made[]; factId: string; sessionId: string; claimCode: string | null };

/** An archive as it came: its members, and the pack in it. */
export type Archive = {
  readonly bytes: Buffer;
  readonly members: Record<string, Uint8Array>;
  readonly pack: RecordPack;
};

export const sha256 = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');

/** One registry, asked through its public API. Its clock moves on by a second each time it is read, from the day that was set. */
export class PackClient {
  constructor(readonly test: TestApp) {}

  setDay(day: string): void {
    let moment = Date.parse(`${day}T08:00:00Z`);
    this.test.app.get(Clock, { strict: false }).now = () => new Date((moment += 1000));
  }

  /** Sends one mutation and gives its payload; fails the test when it is refused. */
  async do(by: TestKeeper, name: keyof typeof GIVES, input: object): Promise<Given> {
    const type = `${name[0]?.toUpperCase()}${name.slice(1)}Input`;
    const document = `mutation ($input: ${type}!) { ${name}(input: $input) { ${GIVES[name]} } }`;
    const answer = await this.test.ask<Record<string, Given>>(document, { input }, by.token);
    const given = answer.data?.[name];
    if (answer.errors !== undefined || given === undefined)
      throw new Error(`${name} ${JSON.stringify(input)}: ${JSON.stringify(answer.errors)}`);
    return given;
  }

  /** Sends the bytes of a file and gives its id. */
  async put(by: TestKeeper, path: string, bytes: Uint8Array, type: string, query: object = {}): Promise<string> {
    const answer = await this.test
      .http()
      .put(path)
      .query({ name: 'file', ...query })
      .set('content-type', type)
      .set('authorization', `Bearer ${by.token}`)
      .send(Buffer.from(bytes));
    if (answer.status !== 201) throw new Error(`${path}: ${answer.text}`);
    return (answer.body as Made).id;
  }

  async get(by: TestKeeper, path: string) {
    return this.test
      .http()
      .get(path)
      .set('authorization', `Bearer ${by.token}`)
      .buffer(true)
      .parse((response, done) => {
        const parts: Buffer[] = [];
        response.on('data', (part: Buffer) => parts.push(part));
        response.on('end', () => done(null, Buffer.concat(parts)));
      });
  }

  async archive(by: TestKeeper, path: string): Promise<Archive> {
    const answer = await this.get(by, path);
    const bytes = answer.body as Buffer;
    if (answer.status !== 200) throw new Error(`${path}: ${bytes.toString()}`);
    const members = unzipSync(bytes);
    const pack = JSON.parse(Buffer.from(members['pack.json'] ?? []).toString()) as RecordPack;
    return { bytes, members, pack };
  }

  /** Hands animals over, all of them well, on one day. Gives the transfer. */
  async handOver(from: TestKeeper, to: TestKeeper, animals: [string, number][], on: string, more: object = {}) {
    const { transfer } = await this.do(from, 'offerTransfer', {
      fromKeeperId: from.keeperId,
      toKeeperId: to.keeperId,
      kind: 'gift',
      items: animals.map(([animalId]) => ({ animalId })),
      ...more,
    });
    const transferId = transfer.id;
    await this.do(to, 'acceptTransfer', { transferId });
    await this.do(from, 'sendTransfer', { transferId, sentOn: on });
    const items = animals.map(([animalId, count]) => ({ animalId, arrivals: [{ state: 'well', count }] }));
    await this.do(to, 'receiveTransfer', { transferId, receivedOn: on, items });
    return transferId;
  }
}
