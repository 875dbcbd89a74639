import { BreedingWorld } from './breeding-world.js';
import { type PackClient } from './pack-client.js';
import { type RegistryWorld, type TestKeeper } from './registry-world.js';

/** A transfer of eggs alone, that has arrived, and a record that was merged with another one and parted from it again. */
export type EggRecord = {
  readonly giver: TestKeeper;
  readonly receiver: TestKeeper;
  readonly transferId: string;
  readonly clutchId: string;
  readonly merged: string;
};

/** Makes both through the API, in June 2026. Places have a word of their own, `place`, that nobody but the giver may read. */
export async function makeEggRecord(client: PackClient, world: RegistryWorld, place: string): Promise<EggRecord> {
  const breeding = new BreedingWorld(client.test, world);
  const [giver, receiver] = [await world.keeper('Giver of eggs'), await world.keeper('Receiver of eggs')];
  const taxonId = await breeding.taxon();
  const enclosureId = await breeding.enclosure(giver, place);
  const { dam } = await breeding.pair(giver, taxonId, enclosureId);
  client.setDay('2026-06-10');
  const laid = { damId: dam, eggCount: 4, laid: '2026-06-01', foundOn: '2026-06-02', enclosureId };
  const { clutch } = await client.do(giver, 'recordClutch', laid);
  const clutchId = clutch.id;
  const event = (kind: string, more: object) => client.do(giver, 'recordEggEvents', { clutchId, kind, ...more });
  await event('incubated', { when: '2026-06-02/2026-06-04', incubator: place, celsius: 28.5 });
  await event('candled', { eggs: [1], when: '2026-06-09', candling: 'fertile' });
  await event('top_marked', { eggs: [1, 2], when: '2026-06-04' });
  const offer = { fromKeeperId: giver.keeperId, toKeeperId: receiver.keeperId, kind: 'gift', items: [] };
  const { transfer } = await client.do(giver, 'offerTransfer', { ...offer, eggs: [{ clutchId, numbers: [1, 2] }] });
  const transferId = transfer.id;
  await client.do(receiver, 'acceptTransfer', { transferId });
  await client.do(giver, 'sendTransfer', { transferId, sentOn: '2026-06-10' });
  const eggs = [{ clutchId, numbers: [1, 2], state: 'well' }];
  await client.do(receiver, 'receiveTransfer', { transferId, receivedOn: '2026-06-10', items: [], eggs });
  const merged = await world.animal(receiver, taxonId, { name: 'Once' });
  const mergeId = await world.animal(receiver, taxonId, { name: 'Twice' });
  await client.do(receiver, 'mergeRecords', { keepId: merged, mergeId, reason: 'The same animal.' });
  await client.do(receiver, 'undoMerge', { mergedId: mergeId, reason: 'Two animals after all.' });
  return { giver, receiver, transferId, clutchId, merged };
}
