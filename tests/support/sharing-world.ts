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
const LOT = 5;

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

/** An animal on its way to what its cell says: the keeper who looks, whoever has it, and whoever has it first. */
type Draft = {
  readonly cell: SharingCell;
  readonly animalId: string;
  readonly keeper: TestKeeper;
  readonly holder: TestKeeper;
  readonly first: TestKeeper;
};
type Paper = Pick<Built, 'documentId' | 'documentFileId'>;

/** Makes for each cell an animal and an account, through the API; accounts, memberships, offices and minority as rows. */
export class SharingWorld {
  private readonly observers = new Map<string, { keeper: TestKeeper; token: string; cell: SharingCell }>();
  private readonly holders = new Map<string, TestKeeper>();
  private readonly dams = new Map<string, string>();
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
      owner: await world.keeperInRows('Owner'),
      third: await world.keeperInRows('Third'),
      claimant: await world.keeperInRows('Claimant'),
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

  /** What can be written for many at once is, so that the world is made in few requests. */
  async build(cells: readonly SharingCell[]): Promise<Built[]> {
    const drafts: Draft[] = [];
    for (const cell of cells) drafts.push(await this.register(cell));
    await this.note(drafts, ({ first }) => first, ['first', 'own'], 11);
    const papers = await this.papers(drafts);
    const records: Omit<Built, 'cell' | 'animalId' | 'transferId' | 'observer'>[] = [];
    for (const [i, draft] of drafts.entries()) {
      records.push({ ...(papers[i] as Paper), ...(await this.firstRecords(draft)) });
      await this.bring(draft);
    }
    await this.note(drafts, ({ holder }) => holder, ['second', 'own again'], 22);
    for (const draft of drafts) await this.tie(draft);
    await this.share(drafts);
    const built: Built[] = [];
    for (const [i, draft] of drafts.entries()) {
      const transferId = await this.happen(draft);
      const { cell, animalId } = draft;
      const observer = await this.observerOf(cell);
      built.push({ cell, animalId, ...(records[i] as (typeof records)[0]), transferId, observer });
    }
    return built;
  }

  /** Memberships, offices and minority, once everything has happened. */
  async settle(): Promise<void> {
    for (const each of this.observers.values()) {
      const { keeper, cell } = each;
      const apart = cell.role === 'helper' || cell.role === 'guardian' || cell.role === 'left';
      const account = apart || cell.role === 'minor' ? await this.world.keeperInRows('Somebody') : keeper;
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
    const keeper = await this.world.keeperInRows(`Observer ${key}`);
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
    const keeper = await this.world.keeperInRows(`Holder ${key}`);
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

  /** Registers the animal with its mark; one that will be disputed comes from the claimant. */
  private async register(cell: SharingCell): Promise<Draft> {
    const { keeper } = await this.observerOf(cell);
    const { owner, claimant } = this.at.others;
    const has = cell.tie === 'keeper' || cell.tie === 'borrower';
    const holder = has ? keeper : await this.holderOf(cell);
    const registers = ['keeper', 'lender', 'co_owner', 'past'].includes(cell.tie);
    const first = registers ? keeper : cell.tie === 'borrower' ? owner : holder;
    const disputed = cell.state === 'disputed';
    const { taxonId } = this.at;
    const by = disputed ? claimant : first;
    const damId = await this.damOf(by);
    const more = { damId, name: 'An animal', birth: { edtf: '2020', manner: 'hatched' } };
    const marks = [{ kind: 'feature', value: `scar ${(this.marks += 1)}` }];
    const animalId =
      cell.state === 'lot'
        ? await this.world.lot(by, taxonId, LOT, more)
        : await this.world.animal(by, taxonId, { ...more, sex: 'female', marks });
    const draft = { cell, keeper, holder, first, animalId };
    if (disputed) await this.handOver(draft, claimant, first);
    return draft;
  }

  private async damOf(keeper: TestKeeper): Promise<string> {
    const known = this.dams.get(keeper.keeperId);
    if (known !== undefined) return known;
    const damId = await this.world.animal(keeper, this.at.taxonId, { sex: 'female' });
    this.dams.set(keeper.keeperId, damId);
    return damId;
  }

  /** Brings the animal from whoever registered it to whoever has it. */
  private async bring(draft: Draft): Promise<void> {
    const { cell, keeper, holder, first } = draft;
    const loan = { kind: 'breeding_loan', dueBack: LATER };
    if (cell.tie === 'borrower' || cell.tie === 'lender') await this.handOver(draft, first, holder, loan);
    if (cell.tie === 'past') await this.handOver(draft, keeper, holder);
    if (cell.tie === 'co_owner') await this.handOver(draft, keeper, holder, {}, { share: { parts: 1, of: 2 } });
    if (cell.tie === 'past_borrower') {
      await this.handOver(draft, holder, keeper, loan);
      await this.handOver(draft, keeper, holder, { kind: 'loan_return' });
    }
  }

  /** A paper of each animal; those that stay with a holder who is not the observer share one, which no observer may see. */
  private async papers(drafts: readonly Draft[]): Promise<Paper[]> {
    const made = new Map<string, Paper>();
    const key = ({ first, keeper, holder, animalId }: Draft): string =>
      first === holder && first !== keeper ? first.keeperId : animalId;
    for (const draft of drafts) {
      if (made.has(key(draft))) continue;
      const { first: by } = draft;
      const covers = drafts.filter((other) => key(other) === key(draft)).map(({ animalId }) => ({ animalId }));
      const paper = { keeperId: by.keeperId, kind: 'other', number: '1', authority: 'A', jurisdiction: 'DE', covers };
      const documentId = await this.made(by, 'recordDocument', paper, 'document');
      const documentFileId = await this.put(by, `/documents/${documentId}/files`, PDF, 'application/pdf');
      made.set(key(draft), { documentId, documentFileId });
    }
    return drafts.map((draft) => made.get(key(draft)) as Paper);
  }

  private async firstRecords({ cell, animalId, first: by }: Draft): Promise<Pick<Built, 'fileId' | 'clutchId'>> {
    const fileId = await this.put(by, `/animals/${animalId}/files`, this.at.picture, 'image/jpeg');
    const clutch = { damId: animalId, eggCount: 2, laid: TODAY };
    const clutchId = cell.state === 'lot' ? null : await this.made(by, 'recordClutch', clutch, 'clutch');
    return { fileId, clutchId };
  }

  /** What makes the observer something to the animal without having or owning it. */
  private async tie({ cell: { tie }, animalId, keeper, holder }: Draft): Promise<void> {
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

  private async share(drafts: readonly Draft[]): Promise<void> {
    const collected = drafts.filter(({ cell }) => cell.collection !== 'none');
    for (const { draft, animalIds } of grouped(collected, ['collection', 'collectionLineage'])) {
      const { cell, holder } = draft;
      const { keeperId } = holder;
      const name = `${cell.collection} ${cell.collectionLineage}`;
      const collectionId = await this.made(holder, 'openCollection', { keeperId, name }, 'collection');
      const holdingsShown = cell.collection === 'unset' ? null : cell.collection;
      const lineageWithheld = cell.collectionLineage === 'withheld';
      await this.write(holder, 'setCollectionSharing', { collectionId, holdingsShown, lineageWithheld });
      await this.write(holder, 'moveToCollection', { animalIds, collectionId });
    }
    for (const { draft, animalIds } of grouped(drafts, ['animal', 'animalLineage'])) {
      const { cell, holder } = draft;
      const holdingsShown = cell.animal === 'unset' ? null : cell.animal;
      const lineageWithheld = cell.animalLineage === 'withheld';
      if (holdingsShown !== null || lineageWithheld)
        await this.write(holder, 'setAnimalSharing', { animalIds, holdingsShown, lineageWithheld });
    }
  }

  /** Gives the transfer of a state that has one. */
  private async happen(draft: Draft): Promise<string | null> {
    const { cell, animalId, keeper, holder } = draft;
    const { state, tie } = cell;
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
    if (state === 'outside') await this.handOver(draft, holder, null);
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
    { cell, animalId }: Draft,
    from: TestKeeper,
    to: TestKeeper | null,
    terms: object = {},
    item: object = {},
  ): Promise<void> {
    const transferId = await this.offer(animalId, from, to, terms, item);
    const other = to ?? from;
    await this.write(other, 'acceptTransfer', { transferId });
    await this.write(from, 'sendTransfer', { transferId, sentOn: TODAY });
    const arrivals = [{ state: 'well', count: cell.state === 'lot' ? LOT : 1 }];
    await this.write(other, 'receiveTransfer', { transferId, receivedOn: TODAY, items: [{ animalId, arrivals }] });
    // No quarantine stands in the way of what comes next.
    await this.world.db.quarantineEntry.updateMany({
      where: { animalId, leftOn: null },
      data: { leftOn: new Date(TODAY) },
    });
  }

  private offer(
    animalId: string,
    from: TestKeeper,
    to: TestKeeper | null,
    terms: object = {},
    item: object = {},
  ): Promise<string> {
    const receiver = to === null ? { toOutsideParty: { name: 'A buyer' } } : { toKeeperId: to.keeperId };
    const input = { fromKeeperId: from.keeperId, kind: 'gift', ...receiver, ...terms, items: [{ animalId, ...item }] };
    return this.made(from, 'offerTransfer', input, 'transfer');
  }

  /** Of each animal a note for all, a private one and a weight. */
  private async note(
    drafts: readonly Draft[],
    of: (draft: Draft) => TestKeeper,
    [care, own]: [string, string],
    grams: number,
  ): Promise<void> {
    for (const by of new Set(drafts.map(of))) {
      const facts = drafts
        .filter((draft) => of(draft) === by)
        .flatMap(({ animalId }) => [
          { animalId, note: { topic: 'care', text: care } },
          { animalId, note: { topic: 'private', text: own } },
          { animalId, weightGrams: grams },
        ]);
      for (let i = 0; i < facts.length; i += 99) await this.write(by, 'recordFacts', { facts: facts.slice(i, i + 99) });
    }
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
    await this.test.get(mutation(name, '__typename'), { input }, by.token);
  }

  /** The id of what it makes. */
  private async made(by: TestKeeper, name: string, input: object, what: string): Promise<string> {
    type Made = Record<string, Record<string, { id: string }>>;
    const answer = await this.test.get<Made>(mutation(name, `${what} { id }`), { input }, by.token);
    return answer[name]?.[what]?.id ?? '';
  }
}

function mutation(name: string, fields: string): string {
  const type = `${name[0]?.toUpperCase()}${name.slice(1)}Input!`;
  return `mutation ($input: ${type}) { ${name}(input: $input) { ${fields} } }`;
}

/** Animals of one holder with one setting. */
function grouped(drafts: readonly Draft[], by: readonly (keyof SharingCell)[]) {
  const groups = new Map<string, { draft: Draft; animalIds: string[] }>();
  for (const draft of drafts) {
    const key = [draft.holder.keeperId, ...by.map((name) => draft.cell[name])].join(' ');
    const group = groups.get(key) ?? { draft, animalIds: [] };
    group.animalIds.push(draft.animalId);
    groups.set(key, group);
  }
  return [...groups.values()];
}
