import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { RecordDocument } from '../../libs/document/app/record-document.js';
import { type Cover, type DocumentSight, documentSight } from '../../libs/document/core/document.core.js';
import { findSight } from '../../libs/document/store/document-scope.store.js';
import { DocumentReadStore } from '../../libs/document/index.js';
import { setOwners } from '../../libs/custody/index.js';
import { type Viewer } from '../../libs/kernel/index.js';
import { AccountStore } from '../../libs/membership/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { type Database } from '../../libs/platform/prisma/index.js';
import { endQuarantine } from '../support/end-quarantine.js';
import { arrived, gift, type Party, TODAY, transferWorld, type TransferWorld } from '../support/transfer-world.js';

/** Documents of the keeper Anna, and what each role is to them. Both the scope and the policy must say the same. */
const SIGHTS = {
  keeper: { moved: 'own', stays: 'own', taxon: 'own', collection: 'own' },
  helper: { moved: 'own', stays: 'own', taxon: 'own', collection: 'own' },
  formerHelper: { moved: 'none', stays: 'none', taxon: 'none', collection: 'none' },
  newHolder: { moved: 'with_animal', stays: 'none', taxon: 'none', collection: 'none' },
  helperOfNewHolder: { moved: 'with_animal', stays: 'none', taxon: 'none', collection: 'none' },
  pastHolder: { moved: 'none', stays: 'none', taxon: 'none', collection: 'none' },
  coOwner: { moved: 'none', stays: 'with_animal', taxon: 'none', collection: 'none' },
  receiverOfOffer: { moved: 'none', stays: 'none', taxon: 'none', collection: 'none' },
  clubMate: { moved: 'none', stays: 'none', taxon: 'none', collection: 'none' },
  coordinator: { moved: 'none', stays: 'none', taxon: 'none', collection: 'none' },
  stranger: { moved: 'none', stays: 'none', taxon: 'none', collection: 'none' },
} as const satisfies Record<string, Record<string, DocumentSight>>;
type Role = keyof typeof SIGHTS;
const ROLES = Object.keys(SIGHTS) as Role[];
const NAMES = ['moved', 'stays', 'taxon', 'collection'] as const;

describe('who sees a document', () => {
  let w: TransferWorld;
  const accounts = {} as Record<Role, string>;
  const documents = {} as Record<(typeof NAMES)[number], string>;
  let movedAnimal = '';

  const viewerOf = async (role: Role): Promise<Viewer> => {
    const facts = await new AccountStore({ client: w.client } as Database, new Clock()).findViewerFacts(
      accounts[role],
      null,
    );
    if (facts === null) throw new Error(`No account for ${role}.`);
    return { ...facts, requestId: randomUUID() };
  };
  const reads = () => new DocumentReadStore({ client: w.client } as Database);

  beforeAll(async () => {
    w = await transferWorld();
    const { client } = w;
    const member = async (party: Party, role: 'owner' | 'helper', ended = false, accountId: string = randomUUID()) => {
      await client.account.createMany({
        data: [{ id: accountId, email: `${accountId}@example.org`, passwordHash: 'none', createdAt: new Date() }],
        skipDuplicates: true,
      });
      const endedAt = ended ? new Date() : null;
      await client.keeperMember.create({
        data: { keeperId: party.keeperId, accountId, role, since: new Date(), endedAt },
      });
      return accountId;
    };
    const own = (party: Party) => member(party, 'owner', false, party.viewer.accountId);
    const names = ['Anna', 'Bruno', 'Carla', 'Dora', 'Emil', 'Fritz', 'Greta', 'Hans'] as const;
    const parties = {} as Record<(typeof names)[number], Party>;
    for (const name of names) parties[name] = await w.party(name);
    const { Anna, Bruno, Carla, Dora, Emil, Fritz, Greta, Hans } = parties;
    accounts.keeper = await own(Anna);
    accounts.helper = await member(Anna, 'helper');
    accounts.formerHelper = await member(Anna, 'helper', true);
    accounts.pastHolder = await own(Bruno);
    accounts.newHolder = await own(Carla);
    accounts.helperOfNewHolder = await member(Carla, 'helper');
    accounts.coOwner = await own(Dora);
    accounts.receiverOfOffer = await own(Emil);
    accounts.clubMate = await own(Fritz);
    accounts.coordinator = await own(Greta);
    accounts.stranger = await own(Hans);

    const clubId = randomUUID();
    await client.club.create({ data: { id: clubId, slug: clubId, name: 'Club', createdAt: new Date() } });
    await client.clubMember.createMany({
      data: [Anna, Fritz, Greta].map(({ keeperId }) => ({ clubId, keeperId, joinedOn: new Date('2025-01-01') })),
    });
    await client.office.create({
      data: { id: randomUUID(), clubId, accountId: accounts.coordinator, validFrom: new Date('2025-01-01') },
    });

    movedAnimal = await w.animal(Anna);
    const stays = await w.animal(Anna);
    await w.uow.writeAsServer(null, async (tx) => {
      const half = (keeperId: string) => ({ owner: { kind: 'keeper' as const, keeperId }, parts: 1 });
      return setOwners(tx, { animalId: stays, from: TODAY, shares: [half(Anna.keeperId), half(Dora.keeperId)] });
    });
    const record = async (...covers: Cover[]) => {
      const statement = { kind: 'permit', permitForm: null, number: '1', authority: 'A', jurisdiction: 'DE' } as const;
      const command = { ...statement, keeperId: Anna.keeperId, validFrom: null, validUntil: null, covers };
      return (await new RecordDocument(w.uow).execute(Anna.viewer, command)).documentId;
    };
    documents.moved = await record(
      { what: 'animal', animalId: movedAnimal },
      { what: 'taxon', taxonId: w.taxonId, quantity: 2 },
    );
    documents.stays = await record({ what: 'animal', animalId: stays });
    documents.taxon = await record({ what: 'taxon', taxonId: w.taxonId, quantity: null });
    documents.collection = await record({ what: 'collection' });

    for (const [from, to] of [
      [Anna, Bruno],
      [Bruno, Carla],
    ] as const) {
      const { transferId } = await w.offer.execute(from.viewer, gift(from, to, movedAnimal));
      await w.accept.execute(to.viewer, { transferId });
      await endQuarantine(client, movedAnimal, TODAY);
      await w.send.execute(from.viewer, { transferId, sentOn: TODAY });
      await w.receive.execute(to.viewer, { transferId, receivedOn: TODAY, items: [arrived(movedAnimal, { well: 1 })] });
    }
    await w.offer.execute(Anna.viewer, gift(Anna, Emil, stays));
  });
  afterAll(() => w?.close());

  it.each(ROLES)('%s', async (role) => {
    const viewer = await viewerOf(role);
    const keeperIds = viewer.keepers.map(({ keeperId }) => keeperId);
    const inScope = await findSight(w.client, viewer, Object.values(documents));
    for (const name of NAMES) {
      const id = documents[name];
      const { keeperId, covers } = await w.client.holdingDocument.findUniqueOrThrow({
        where: { id },
        include: { covers: true },
      });
      const relations = await w.client.animalAccess.findMany({
        where: { animalId: { in: covers.flatMap(({ animalId }) => animalId ?? []) }, keeperId: { in: keeperIds } },
      });
      const byPolicy = documentSight({
        actsForKeeper: keeperIds.includes(keeperId),
        toCoveredAnimals: relations.flatMap(({ relation, validTo }) =>
          relation === 'guest' ? [] : [{ relation, closed: validTo !== null }],
        ),
      });
      expect({ name, scope: inScope.get(id) ?? 'none', policy: byPolicy }).toEqual({
        name,
        scope: SIGHTS[role][name],
        policy: SIGHTS[role][name],
      });
    }
  });

  it.each(ROLES)('%s reads through that scope and no other way', async (role) => {
    const viewer = await viewerOf(role);
    const views = await reads().findVisible(viewer, Object.values(documents));
    const expected = NAMES.filter((name) => SIGHTS[role][name] !== 'none').map((name) => documents[name]);
    expect([...views.keys()].sort()).toEqual(expected.sort());
    const covering = (await reads().findCovering(viewer, [movedAnimal])).get(movedAnimal) ?? [];
    expect(covering.map(({ id }) => id)).toEqual(SIGHTS[role].moved === 'none' ? [] : [documents.moved]);
  });

  it('with an animal comes what covers it: not whose the document is, nor what else it covers', async () => {
    const view = (await reads().findVisible(await viewerOf('newHolder'), [documents.moved])).get(documents.moved);
    expect(view).toMatchObject({
      sight: 'with_animal',
      keeperId: null,
      covers: [{ what: 'animal', animalId: movedAnimal }],
    });
  });
});
