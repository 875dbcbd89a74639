import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { type EggRecord, makeEggRecord } from '../support/egg-record.js';
import { PackClient } from '../support/pack-client.js';
import { pdfText } from '../support/pdf-text.js';
import { RegistryWorld } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

/** The record pack of a transfer of eggs alone, and what a pack says of merged records. */

const PLACE = 'BEHIND-THE-STOVE';

let test: TestApp;
let world: RegistryWorld;
let client: PackClient;
let eggs: EggRecord;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  client = new PackClient(test);
  eggs = await makeEggRecord(client, world, PLACE);
}, 120_000);
afterAll(async () => {
  await world?.close();
  await test?.close();
});
const zip = () => `/transfers/${eggs.transferId}/record.zip`;

describe('the pack of eggs', () => {
  it('says of each what happened to it, how it arrived and who its parents can be, and not where it lay', async () => {
    const { pack, members } = await client.archive(eggs.receiver, zip());
    expect(pack.animals).toEqual([]);
    const [clutch, ...others] = pack.eggs;
    expect(others).toEqual([]);
    expect(clutch).toMatchObject({
      laid: { edtf: '2026-06-01' },
      foundOn: '2026-06-02',
      countedTo: '2026-06-10',
      dams: [{ probability: 1 }],
      sires: [{ probability: 1 }],
      breeders: [{ breeder: 'keeper', own: false, sure: 'yes', why: ['owner_at_laying'] }],
      eggs: [
        {
          number: 1,
          state: 'incubated',
          topMarked: true,
          place: 'incubator',
          celsius: 28.5,
          // From 2 or 4 June to 10 June.
          incubatedDays: { least: 6, most: 8 },
          arrival: 'well',
          receivedOn: '2026-06-10',
          events: [{ kind: 'incubated' }, { kind: 'candled', candling: 'fertile' }, { kind: 'top_marked' }],
        },
        { number: 2, topMarked: true, events: [{ kind: 'incubated' }, { kind: 'top_marked' }] },
      ],
    });
    const refs = pack.relatives.map(({ ref, sex }) => [ref, sex]);
    expect(refs).toContainEqual([clutch?.dams[0]?.ref, 'female']);
    expect(refs).toContainEqual([clutch?.sires?.[0]?.ref, 'male']);
    const paper = await pdfText(members['record.pdf'] ?? new Uint8Array());
    for (const part of ['Egg 1', 'top marked: do not turn it', '28.5 °C', 'incubated 6 to 8 days'])
      expect(paper).toContain(part);
    expect(JSON.stringify(pack) + paper).not.toContain(PLACE);
  });

  it('stands still for the giver, whatever the receiver records of them later', async () => {
    const before = (await client.archive(eggs.giver, zip())).pack;
    expect(before.eggs[0]?.sires).toBeNull();
    await client.do(eggs.receiver, 'recordEggEvents', {
      ...{ clutchId: eggs.clutchId, kind: 'failed', eggs: [1], when: '2026-06-10' },
    });
    expect((await client.archive(eggs.giver, zip())).pack).toEqual(before);
    expect((await client.archive(eggs.receiver, zip())).pack.eggs[0]?.eggs[0]?.state).toBe('failed');
  });

  it('is nobody’s but the two sides’', async () => {
    const stranger = await world.keeper('Stranger');
    expect((await client.get(stranger, zip())).status).toBe(404);
  });
});

describe('merged records', () => {
  it('are told with why, and with why they were parted again', async () => {
    const { pack } = await client.archive(eggs.receiver, `/animals/${eggs.merged}/record.zip`);
    expect(pack.animals[0]?.merges).toMatchObject([
      { as: 'kept', because: 'The same animal.', undone: { reason: 'Two animals after all.' } },
    ]);
    const other = pack.animals[0]?.merges[0]?.other;
    expect(pack.relatives.map(({ ref }) => ref)).toContain(other);
  });
});
