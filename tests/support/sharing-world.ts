import sharp from 'sharp';
import { v7 as uuid } from 'uuid';
import { addDays, dayOf } from '../../libs/kernel/index.js';
import { RegistryWorld, type TestKeeper } from './registry-world.js';
import { OFFERS, type SharingCell } from './sharing-cells.js';
import { type TestApp } from './test-app.js';

const TODAY = dayOf(new Date());
const LATER = addDays(TODAY, 100);
const PDF = Buffer.from('%PDF-1.4\n1 0 obj\n<<>>\nendobj\ntrailer\n<<>>\n%%EOF\n');
const REGION = 'DE-BY';

/** A keeper of the dimensions, with the account that looks. */
type Observer = { readonly keeper: TestKeeper; readonly token: string };

/** An animal as its cell says, and what hangs on it. */
export type Built = {
  readonly cell: SharingCell;
  readonly animalId: string;
  readonly fileId: string;
  readonly documentId: string;
  readonly documentFileId: string;
  /** Null for a lot. */
  readonly clutchId: string | null;
  readonly transferId: string | null;
  readonly observer: Observer;
};

/** Makes for each cell an animal and an account, through the API; memberships, offices and minority as rows. */
export class SharingWorld {
  private readonly observers = new Map<string, { keeper: TestKeeper; token: string; cell: SharingCell }>();
  private readonly holders = new Map<string, TestKeeper>();
  private readonly collections = new Map<string, string>();
  private marks = 0;

  private constructor(
    private readonly test: TestApp,
    private readonly world: RegistryWorld,
    private readonly at: {
      readonly taxonId: string;
      readonly otherTaxonId: string;
      readonly clubId: string;
      /** In no club: who lends, who is offered an animal that is not the observer's, who claims. */
      readonly others: Readonly<Record<'owner' | 'third' | 'claimant', TestKeeper>>;
      readonly picture: Buffer;
    },
  ) {}

  static async open(test: TestApp, world: RegistryWorld): Promise<SharingWorld> {
    const others = {
      owner: await world.keeper('Owner'),
      third: await world.keeper('Third'),
      claimant: await world.keeper('Claimant'),
    };
    const background = { r: 90, g: 140, b: 60 };
    return new SharingWorld(test, world, {
      taxonId: await world.taxon(),
      otherTaxonId: await world.taxon(),
      clubId: await world.club(),
      others,
      picture: await sharp({ create: { width: 30, height: 20, channels: 3, background } })
        .jpeg()
        .toBuffer(),
    });
  }

  async build(cell: SharingCell): Promise<Built> {
    const { keeper } = await this.observerOf(cell);
    const has = cell.tie === 'keeper' || cell.tie === 'borrower';
    const holder = has ? keeper : await this.holderOf(cell);
    const made = await this.bring(cell, keeper, holder);
    const { animalId } = made;
    await this.note(holder, animalId, ['second', 'own again'], 22);
    await this.tie(cell, animalId, keeper, holder);
    await this.share(cell, animalId, holder);
    const transferId = await this.happen(cell, animalId, keeper, holder);
    return { cell, ...made, transferId, observer: await this.observerOf(cell) };
  }

  /** Memberships, offices and minority, once everything has happened. */
  async settle(): Promise<void> {
    for (const each of this.observers.values()) {
      const { keeper, cell } = each;
      const apart = cell.role === 'helper' || cell.role === 'guardian' || cell.role === 'left';
      const account = apart || cell.role === 'minor' ? await this.world.keeper('Somebody') : keeper;
      if (apart) each.token = account.token;
      if (cell.role === 'guardian' || cell.role === 'minor')
        await this.world.db.keeper.update({
          where: { id: keeper.keeperId },
          data: { minorUntil: new Date(addDays(TODAY, 1000)) },
        });
      if (account !== keeper)
        await this.world.db.keeperMember.create({
          data: {
            keeperId: keeper.keeperId,
            accountId: account.accountId,
            role: cell.role === 'minor' || cell.role === 'guardian' ? 'guardian' : 'helper',
            since: new Date('2025-01-01'),
            endedAt: cell.role === 'left' ? new Date('2026-01-01') : null,
          },
        });
      await this.appoint(cell, apart ? account.accountId : keeper.accountId);
    }
  }

  private async appoint({ office }: SharingCell, accountId: string): Promise<void> {
    if (office === 'none') return;
    const { clubId, taxonId, otherTaxonId } = this.at;
    await this.world.db.office.create({
      data: {
        id: uuid(),
        clubId,
        accountId,
        region: office === 'region_in' ? REGION : office === 'region_out' ? 'DE-NW' : null,
        taxonId: office === 'taxon_in' ? taxonId : office === 'taxon_out' ? otherTaxonId : null,
        validFrom: new Date('2025-01-01'),
        validTo: office === 'over' ? new Date('2026-01-01') : null,
      },
    });
  }

  /** One account for all cells that are alike in who looks. */
  private async observerOf(cell: SharingCell): Promise<Observer> {
    const shows = cell.tie === 'keeper' || cell.tie === 'borrower';
    const key = [cell.role, cell.club, cell.office, ...(shows ? [cell.everything, cell.everythingLineage] : [])].join();
    const known = this.observers.get(key);
    if (known !== undefined) return known;
    const keeper = await this.world.keeper(`Observer ${key}`);
    if (cell.club !== 'apart') await this.join(keeper, cell.club === 'left' ? new Date('2026-01-01') : null);
    if (shows) await this.showEverything(keeper, cell);
    const made = { keeper, token: keeper.token, cell };
    this.observers.set(key, made);
    return made;
  }

  private async holderOf(cell: SharingCell): Promise<TestKeeper> {
    const key = `${cell.everything} ${cell.everythingLineage}`;
    const known = this.holders.get(key);
    if (known !== undefined) return known;
    const keeper = await this.world.keeper(`Holder ${key}`);
    await this.join(keeper, null);
    await this.world.db.keeper.update({ where: { id: keeper.keeperId }, data: { region: REGION } });
    await this.showEverything(keeper, cell);
    this.holders.set(key, keeper);
    return keeper;
  }

  private async join({ keeperId }: TestKeeper, leftOn: Date | null): Promise<void> {
    const joinedOn = new Date('2025-01-01');
    await this.world.db.clubMember.create({ data: { clubId: this.at.clubId, keeperId, joinedOn, leftOn } });
  }

  private async showEverything(keeper: TestKeeper, cell: SharingCell): Promise<void> {
    const lineageShared = cell.everythingLineage === 'shared';
    await this.write(keeper, 'setSharing', {
      keeperId: keeper.keeperId,
      holdingsShown: cell.everything,
      lineageShared,
    });
  }

  /** Registers the animal with its first records and brings it to whoever has it. */
  private async bring(cell: SharingCell, keeper: TestKeeper, holder: TestKeeper) {
    const { owner, claimant } = this.at.others;
    const registers = ['keeper', 'lender', 'co_owner', 'past'].includes(cell.tie);
    const first = registers ? keeper : cell.tie === 'borrower' ? owner : holder;
    const disputed = cell.state === 'disputed';
    const { taxonId } = this.at;
    const by = disputed ? claimant : first;
    const damId = await this.world.animal(by, taxonId, { sex: 'female' });
    const more = { damId, name: 'An animal', birth: { edtf: '2020', manner: 'hatched' } };
    const animalId =
      cell.state === 'lot'
        ? await this.world.lot(by, taxonId, 5, more)
        : await this.world.animal(by, taxonId, { ...more, sex: 'female' });
    if (disputed) await this.handOver(animalId, claimant, first);
    const records = await this.firstRecords(animalId, first, cell.state === 'lot');
    const loan = { kind: 'breeding_loan', dueBack: LATER };
    if (cell.tie === 'borrower' || cell.tie === 'lender') await this.handOver(animalId, first, holder, loan);
    if (cell.tie === 'past') await this.handOver(animalId, keeper, holder);
    if (cell.tie === 'co_owner') await this.handOver(animalId, keeper, holder, {}, { share: { parts: 1, of: 2 } });
    if (cell.tie === 'past_borrower') {
      await this.handOver(animalId, holder, keeper, loan);
      await this.handOver(animalId, keeper, holder, { kind: 'loan_return' });
    }
    return { animalId, ...records };
  }

  private async firstRecords(animalId: string, by: TestKeeper, isLot: boolean) {
    await this.note(by, animalId, ['first', 'own'], 11);
    if (!isLot) await this.write(by, 'recordMark', { animalId, kind: 'feature', value: `scar ${(this.marks += 1)}` });
    const fileId = await this.put(by, `/animals/${animalId}/files`, this.at.picture, 'image/jpeg');
    const { recordDocument } = await this.test.get<{ recordDocument: { document: { id: string } } }>(
      'mutation ($input: RecordDocumentInput!) { recordDocument(input: $input) { document { id } } }',
      {
        input: {
          ...{ keeperId: by.keeperId, kind: 'other', number: '1', authority: 'A', jurisdiction: 'DE' },
          covers: [{ animalId }],
        },
      },
      by.token,
    );
    const documentId = recordDocument.document.id;
    const documentFileId = await this.put(by, `/documents/${documentId}/files`, PDF, 'application/pdf');
    return { fileId, documentId, documentFileId, clutchId: isLot ? null : await this.clutch(by, animalId) };
  }

  private async clutch(by: TestKeeper, damId: string): Promise<string> {
    const { recordClutch } = await this.test.get<{ recordClutch: { clutch: { id: string } } }>(
      'mutation ($input: RecordClutchInput!) { recordClutch(input: $input) { clutch { id } } }',
      { input: { damId, eggCount: 2, laid: TODAY } },
      by.token,
    );
    return recordClutch.clutch.id;
  }

  /** What makes the observer something to the animal without having or owning it. */
  private async tie({ tie }: SharingCell, animalId: string, keeper: TestKeeper, holder: TestKeeper): Promise<void> {
    if (tie.startsWith('guest')) {
      await this.write(holder, 'grantReading', { animalId, toKeeperId: keeper.keeperId, until: LATER });
      const where = { animalId, keeperId: keeper.keeperId, relation: 'guest' as const };
      const { id } = await this.world.db.animalAccess.findFirstOrThrow({ where });
      if (tie === 'guest_ended') await this.write(holder, 'endGrant', { grantId: id });
      // As if it had been granted until yesterday.
      if (tie === 'guest_lapsed')
        await this.world.db.animalAccess.update({ where: { id }, data: { validTo: new Date(TODAY) } });
    }
    if (tie.startsWith('asker')) {
      await this.write(keeper, 'askHolder', { animalId, message: 'May I?', keeperId: keeper.keeperId });
      const { id: threadId } = await this.world.db.askThread.findFirstOrThrow({ where: { animalId } });
      await this.write(holder, 'answerThread', { threadId, message: 'Perhaps', reveal: tie === 'asker' });
      // Twenty threads a day are enough for anybody else.
      await this.world.db.rateLimit.deleteMany();
    }
  }

  private async share(cell: SharingCell, animalId: string, holder: TestKeeper): Promise<void> {
    if (cell.collection !== 'none') {
      const collectionId = await this.collectionOf(cell, holder);
      await this.write(holder, 'moveToCollection', { animalIds: [animalId], collectionId });
    }
    const holdingsShown = cell.animal === 'unset' ? null : cell.animal;
    const lineageWithheld = cell.animalLineage === 'withheld';
    if (holdingsShown !== null || lineageWithheld)
      await this.write(holder, 'setAnimalSharing', { animalIds: [animalId], holdingsShown, lineageWithheld });
  }

  private async collectionOf(cell: SharingCell, { keeperId, ...holder }: TestKeeper): Promise<string> {
    const name = `${cell.collection} ${cell.collectionLineage}`;
    const key = `${keeperId} ${name}`;
    const known = this.collections.get(key);
    if (known !== undefined) return known;
    const by = { keeperId, ...holder };
    await this.write(by, 'openCollection', { keeperId, name });
    const { id } = await this.world.db.collection.findFirstOrThrow({ where: { keeperId, name } });
    const holdingsShown = cell.collection === 'unset' ? null : cell.collection;
    const lineageWithheld = cell.collectionLineage === 'withheld';
    await this.write(by, 'setCollectionSharing', { collectionId: id, holdingsShown, lineageWithheld });
    this.collections.set(key, id);
    return id;
  }

  /** Gives the transfer of a state that has one. */
  private async happen(
    { state, tie }: SharingCell,
    animalId: string,
    keeper: TestKeeper,
    holder: TestKeeper,
  ): Promise<string | null> {
    await this.letOut(animalId);
    const { keeperId } = holder;
    const { owner, third, claimant } = this.at.others;
    if (state === 'dead') await this.write(holder, 'recordDeath', { animalId });
    if (state === 'missing' || state === 'left_registry')
      await this.write(holder, 'recordFate', { animalId, fate: state });
    if (state === 'quarantine')
      await this.write(holder, 'openQuarantine', { keeperId, animalIds: [animalId], enteredOn: TODAY });
    if (state === 'disputed') {
      const claim = { share: { parts: 1, of: 2 }, since: TODAY, statement: 'Half of it.' };
      await this.write(claimant, 'claimOwnership', { keeperId: claimant.keeperId, animalId, ...claim });
    }
    if (state === 'merged') {
      const keepId = await this.world.animal(holder, this.at.taxonId, { sex: 'female' });
      await this.write(holder, 'mergeRecords', { keepId, mergeId: animalId, reason: 'One animal.' });
    }
    if (state === 'outside') await this.handOver(animalId, holder, null);
    if (!OFFERS.includes(state)) return null;
    const to = tie === 'receiver' || tie === 'lender' ? keeper : tie === 'borrower' ? owner : third;
    const goesHome = tie === 'lender' || tie === 'borrower';
    const terms = goesHome ? { kind: 'loan_return' } : { kind: 'sale', price: { minor: 5000, currency: 'EUR' } };
    const transferId = await this.offer(animalId, holder, to, terms);
    if (state === 'declined') await this.write(to, 'declineTransfer', { transferId });
    if (state === 'withdrawn') await this.write(holder, 'withdrawTransfer', { transferId });
    if (['accepted', 'sent', 'cancelled'].includes(state)) await this.write(to, 'acceptTransfer', { transferId });
    if (state === 'sent') await this.write(holder, 'sendTransfer', { transferId, sentOn: TODAY });
    if (state === 'cancelled') await this.write(holder, 'cancelTransfer', { transferId, reason: 'Not after all.' });
    return transferId;
  }

  /** From one keeper to another, or to somebody without an account. */
  private async handOver(
    animalId: string,
    from: TestKeeper,
    to: TestKeeper | null,
    terms: object = {},
    item: object = {},
  ): Promise<void> {
    await this.letOut(animalId);
    const transferId = await this.offer(animalId, from, to, terms, item);
    const other = to ?? from;
    await this.write(other, 'acceptTransfer', { transferId });
    await this.write(from, 'sendTransfer', { transferId, sentOn: TODAY });
    const { count } = await this.world.db.transferItem.findFirstOrThrow({ where: { transferId } });
    await this.write(other, 'receiveTransfer', {
      transferId,
      receivedOn: TODAY,
      items: [{ animalId, arrivals: [{ state: 'well', count }] }],
    });
    await this.letOut(animalId);
  }

  private async offer(
    animalId: string,
    from: TestKeeper,
    to: TestKeeper | null,
    terms: object = {},
    item: object = {},
  ): Promise<string> {
    const receiver = to === null ? { toOutsideParty: { name: 'A buyer' } } : { toKeeperId: to.keeperId };
    const input = { fromKeeperId: from.keeperId, kind: 'gift', ...receiver, ...terms, items: [{ animalId, ...item }] };
    const { offerTransfer } = await this.test.get<{ offerTransfer: { transfer: { id: string } } }>(
      'mutation ($input: OfferTransferInput!) { offerTransfer(input: $input) { transfer { id } } }',
      { input },
      from.token,
    );
    return offerTransfer.transfer.id;
  }

  /** No quarantine stands in the way of a hand-over. */
  private async letOut(animalId: string): Promise<void> {
    await this.world.db.quarantineEntry.updateMany({
      where: { animalId, leftOn: null },
      data: { leftOn: new Date(TODAY) },
    });
  }

  /** A note for all, a private one and a weight. */
  private async note(by: TestKeeper, animalId: string, [care, own]: [string, string], grams: number): Promise<void> {
    await this.write(by, 'recordFacts', {
      facts: [
        { animalId, note: { topic: 'care', text: care } },
        { animalId, note: { topic: 'private', text: own } },
        { animalId, weightGrams: grams },
      ],
    });
  }

  private async put(by: TestKeeper, path: string, bytes: Buffer, type: string): Promise<string> {
    const sent = await this.test
      .http()
      .put(path)
      .set({ authorization: `Bearer ${by.token}`, 'content-type': type })
      .send(bytes);
    if (sent.status !== 201) throw new Error(`${path} answered ${sent.status} ${sent.text}`);
    return (sent.body as { id: string }).id;
  }

  private async write(by: TestKeeper, name: string, input: object): Promise<void> {
    const type = `${name[0]?.toUpperCase()}${name.slice(1)}Input!`;
    await this.test.get(`mutation ($input: ${type}) { ${name}(input: $input) { __typename } }`, { input }, by.token);
  }
}
