import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import { findAccess, openAccess } from '../../access/index.js';
import { lockAnimals } from '../../animal/index.js';
import { splitLot } from '../../custody/index.js';
import { actsFor, type Day, decide, type Decision, notFound, type Viewer } from '../../kernel/index.js';
import { NoticeStore, requireOtherKeeper } from '../../membership/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { MAX_ITEMS, offerTransfer, type OfferPlan, planOffer } from '../core/offer.core.js';
import { formatSpokenCode } from '../hand-over/spoken-code.core.js';
import { propertyProblem } from '../title/title.core.js';
import {
  DOCUMENT_KINDS,
  type Receiver,
  type Share,
  TRANSFER_KINDS,
  TRANSIT_RISKS,
  type TransferItem,
} from '../core/transfer.core.js';
import { SpokenCodes } from '../hand-over/spoken-codes.js';
import { tellOtherSide } from '../jobs/tell-transfer.job.js';
import { readAnimalsAtHand } from '../store/animals-at-hand.store.js';
import { countersignatureAwaited, mayOfferBetween } from '../checks/countersign.store.js';
import { TransferStore } from '../store/transfer.store.js';
import { eggsOffered, nameEggs, withFamily } from './offer-contents.js';
import { receiverGrants, shareWithReceiver } from './step-command.js';
import { loanEggsProblem } from '../loan-young/eggs-of-loan.js';
import { loanTermsInput, toLoanTermsEntry } from '../loans/loan-terms-input.js';
import { currencyInput, shareInput, titleInput, titleTerms } from '../title/title-input.js';
import { subjectsOf, transferOffered } from './transfer-ledger.js';
import { dayInput } from '../../platform/input/index.js';

function isGiven<T>(value: T | null | undefined): value is T {
  return value !== null && value !== undefined;
}

/** What is offered, by whom, to whom: a keeper by id, or somebody without an account by name. */
export const offerCommand = z
  .object({
    fromKeeperId: z.uuid('This is not the id of a keeper. | Use the id of a keeper you act for.'),
    kind: z.enum(TRANSFER_KINDS),
    ...titleInput,
    loanTerms: loanTermsInput.nullish(),
    // It comes from outside, so in any letter case (RFC 9562); compared with the giver's, which is as we write it.
    toKeeperId: z.uuid('This is not the id of a keeper. | Ask the receiver for the id.').toLowerCase().nullish(),
    toOutsideParty: z
      .object({
        name: z
          .string()
          .trim()
          .min(1, 'The receiver needs a name. | Write the name the receiver gave you.')
          .max(120, 'The name is too long. | Use at most 120 characters.'),
        contact: z.string().trim().max(500, 'This is too long. | Use at most 500 characters.').nullish(),
      })
      .nullish(),
    items: z
      .array(
        z.object({
          animalId: z.uuid('This is not the id of an animal. | Use the ids of animals you hold.'),
          count: z.int().positive('A count is at least 1. | Leave the item out to offer none of it.').nullish(),
          gravid: z.boolean().nullish(),
          share: shareInput.nullish(),
        }),
      )
      .max(MAX_ITEMS, `A transfer holds at most ${MAX_ITEMS} animals and lots. | Make two transfers of it.`),
    eggs: z.array(eggsOffered).max(MAX_ITEMS, `There are too many clutches. | Name at most ${MAX_ITEMS}.`).nullish(),
    familyOfEnclosureId: z.uuid('This is not the id of an enclosure. | Use the id of one of yours.').nullish(),
    familyOn: dayInput.nullish(),
    splitOn: dayInput.nullish(),
    answerBy: dayInput.nullish(),
    transitRisk: z.enum(TRANSIT_RISKS).nullish(),
    conditions: z
      .array(
        z
          .object({
            kind: z.enum(['after_quarantine', 'document', 'other']),
            documentKind: z.enum(DOCUMENT_KINDS).nullish(),
            text: z
              .string()
              .trim()
              .min(1, 'The condition is empty. | Write what has to come to pass.')
              .max(500, 'The condition is too long. | Use at most 500 characters.')
              .nullish(),
          })
          .refine(
            ({ kind, documentKind, text }) =>
              isGiven(documentKind) === (kind === 'document') && isGiven(text) === (kind === 'other'),
            'The condition does not say what it needs, or says too much. | Give documentKind for a document, text for another, nothing for a quarantine.',
          ),
      )
      .max(10, 'There are too many conditions. | Name at most ten.')
      .nullish(),
    message: z.string().trim().max(2000, 'The message is too long. | Use at most 2,000 characters.').nullish(),
    price: z
      .object({
        minor: z.int().min(0, 'A price is not negative. | Write 0 or more, in cents or the like.'),
        currency: currencyInput,
      })
      .nullish(),
  })
  .refine((input) => isGiven(input.toKeeperId) !== isGiven(input.toOutsideParty), {
    path: ['toKeeperId'],
    message: 'A transfer has one receiver. | Give either toKeeperId or toOutsideParty.',
  });

export type OfferCommand = z.infer<typeof offerCommand>;

const outcome = z.object({ transferId: z.uuid(), toOutsideParty: z.boolean() });

/** What the giver gets: the transfer and, for an outside party, the claim code in the form for print. */
export type OfferOutcome = { readonly transferId: string; readonly claimCode: string | null };

/** Offers animals or lots. Of a lot of which only a part is offered, that part becomes a lot of its own first. */
@Injectable()
export class OfferTransfer {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
    private readonly codes: SpokenCodes,
    private readonly notices: NoticeStore,
  ) {}

  /**
   * Throws NOT_FOUND for a keeper the viewer does not act for, a receiver that does not exist and animals the viewer may
   * not see; RULE_REFUSED with what `planOffer`, `mayOfferBetween` and `offerTransfer` refuse.
   */
  async execute(viewer: Viewer, command: OfferCommand): Promise<OfferOutcome> {
    if (!actsFor(viewer, command.fromKeeperId)) throw notFound('keeper');
    const request = { action: 'transfer.offer', input: command, outcome };
    const made = await this.uow.write(viewer, request, async (tx) => {
      const id = uuid();
      const receiver = await this.nameReceiver(tx, command);
      const full = await withFamily(tx, command);
      if (!full.ok) return full;
      const named: ItemCommand[] = full.value.items;
      const planned = await this.plan(tx, viewer, command, named, receiver);
      if (!planned.ok) return planned;
      const splitOn = command.splitOn ?? tx.today;
      const items = await splitFirst(tx, planned.value, command.fromKeeperId, splitOn);
      if (!items.ok) return items;
      const eggs = await nameEggs(tx, viewer, command.fromKeeperId, full.value.eggs);
      if (!eggs.ok) return eggs;
      const { fromKeeperId } = command;
      const toKeeperId = receiver.kind === 'keeper' ? receiver.keeperId : null;
      const sides = { giverId: fromKeeperId, receiverId: toKeeperId };
      const shared = await loanEggsProblem(tx, viewer, sides, eggs.value);
      if (!shared.ok) return shared;
      const may = await mayOfferBetween(tx, viewer, { fromKeeperId, toKeeperId });
      if (!may.ok) return may;
      const conditions = (command.conditions ?? []).map(({ kind, documentKind, text }) => {
        return { id: uuid(), kind, documentKind: documentKind ?? null, text: text ?? null, settledAs: null };
      });
      const decision = offerTransfer(
        {
          id,
          kind: command.kind,
          ...titleTerms(command),
          loanTerms: command.loanTerms ?? null,
          fromKeeperId: command.fromKeeperId,
          receiver,
          message: command.message ?? null,
          price: command.price ?? null,
          offeredAt: tx.now,
          answerBy: command.answerBy ?? null,
          transitRisk: command.transitRisk ?? null,
          conditions,
          items: items.value.map(({ animalId, count }, i) => newItem(animalId, count, named[i])),
          eggs: eggs.value.map((egg) => ({ ...egg, arrival: null, receivedOn: null, notSent: false })),
        },
        tx.today,
      );
      if (!decision.ok) return decision;
      const outside = receiver.kind === 'outside_party';
      await this.transfers.insert(tx, decision.value, outside ? this.codes.hash(this.codes.claimCode(id)) : null);
      await openAccess(tx, receiverGrants(decision.value), tx.today);
      await shareWithReceiver(tx, decision.value);
      await tx.ledger.append(transferOffered, {
        subjects: subjectsOf(decision.value),
        body: {
          transferId: id,
          kind: command.kind,
          fromKeeperId: command.fromKeeperId,
          toKeeperId: receiver.kind === 'keeper' ? receiver.keeperId : null,
          toOutsidePartyId: outside ? receiver.outsidePartyId : null,
          ...(planned.value.splits.length > 0 ? { splitOn } : {}),
          items: items.value.map((item, i) => ({ ...item, ...shareOf(named[i]) })),
          ...(eggs.value.length > 0 ? { eggs: eggs.value } : {}),
          title: decision.value.title,
          ...(isGiven(command.dueBack) ? { dueBack: command.dueBack } : {}),
          ...(isGiven(command.loanTerms) ? { loanTerms: toLoanTermsEntry(command.loanTerms) } : {}),
          ...(isGiven(command.answerBy) ? { answerBy: command.answerBy } : {}),
          ...(conditions.length > 0 ? { conditionIds: conditions.map((condition) => condition.id) } : {}),
          ...(isGiven(command.transitRisk) ? { transitRisk: command.transitRisk } : {}),
        },
        personal: personalText(command),
      });
      await tellOtherSide(tx, decision.value, 'giver', 'offered');
      for (const minor of may.value.minors) await this.notices.write(tx, countersignatureAwaited(id, minor));
      return decide({ transferId: id, toOutsideParty: outside });
    });
    // Derived again and never stored: a repeated request gives the same code.
    const claimCode = made.toOutsideParty ? formatSpokenCode(this.codes.claimCode(made.transferId)) : null;
    return { transferId: made.transferId, claimCode };
  }

  private async nameReceiver(tx: Tx, command: OfferCommand): Promise<Receiver> {
    if (isGiven(command.toKeeperId)) {
      await requireOtherKeeper(tx, command.toKeeperId);
      return { kind: 'keeper', keeperId: command.toKeeperId };
    }
    const { name = '', contact = null } = command.toOutsideParty ?? {};
    const party = { recordedFor: command.fromKeeperId, name, contact };
    return { kind: 'outside_party', outsidePartyId: await this.transfers.insertOutsideParty(tx, party) };
  }

  private async plan(
    tx: Tx,
    viewer: Viewer,
    command: OfferCommand,
    named: readonly ItemCommand[],
    receiver: Receiver,
  ): Promise<Decision<OfferPlan>> {
    if (named.length === 0) return decide({ splits: [], items: [] });
    const ids = named.map((item) => item.animalId);
    await lockAnimals(tx, ids);
    const visible = await findAccess(tx.db, viewer, ids);
    if (ids.some((id) => !visible.has(id))) throw notFound('animal');
    const animals = await readAnimalsAtHand(tx, command.fromKeeperId, ids, null);
    const items = named.map(({ animalId, count }) => ({ animalId, count: count ?? undefined }));
    const returning = command.kind === 'loan_return';
    const planned = planOffer(command.fromKeeperId, items, animals, returning);
    if (!planned.ok) return planned;
    const offered = named.map(({ animalId, share }) => ({ animalId, share: share ?? null }));
    return propertyProblem({ giverId: command.fromKeeperId, receiver, returning }, offered, animals) ?? planned;
  }
}

type Item = OfferCommand['items'][number];
type ItemCommand = Pick<Item, 'animalId'> & Partial<Item>;

function newItem(animalId: string, count: number, { gravid, share }: Partial<Item> = {}): TransferItem {
  const later = { arrivals: [], receivedOn: null, notSent: false, titleDue: false, note: null, photoFileIds: [] };
  return { id: uuid(), animalId, count, gravid: gravid === true, share: share ?? null, ...later };
}

function shareOf(item: ItemCommand | undefined): { share?: Share } {
  const share = item?.share;
  return isGiven(share) ? { share } : {};
}

type SplitItem = { animalId: string; count: number; splitFrom: string | null };

async function splitFirst(tx: Tx, plan: OfferPlan, keeperId: string, on: Day): Promise<Decision<SplitItem[]>> {
  const items: SplitItem[] = [];
  for (const { animalId, count, split } of plan.items) {
    if (!split) {
      items.push({ animalId, count, splitFrom: null });
      continue;
    }
    const part = await splitLot(tx, { lotId: animalId, count, on, keeperId });
    if (!part.ok) return part;
    items.push({ animalId: part.value.id, count, splitFrom: animalId });
  }
  return decide(items);
}

function personalText(command: OfferCommand): Record<string, string> {
  const texts = {
    message: command.message,
    price: !isGiven(command.price) ? null : `${command.price.minor} ${command.price.currency}`,
    loanValue: isGiven(command.loanTerms?.value)
      ? `${command.loanTerms.value.minor} ${command.loanTerms.value.currency}`
      : null,
    instalments: (command.instalments ?? []).map(({ dueOn, minor }) => `${dueOn} ${minor}`).join('\n'),
    conditions: (command.conditions ?? []).flatMap(({ text }) => text ?? []).join('\n'),
    'toOutsideParty.name': command.toOutsideParty?.name,
    'toOutsideParty.contact': command.toOutsideParty?.contact,
  };
  return Object.fromEntries(
    Object.entries(texts).filter((entry): entry is [string, string] => isGiven(entry[1]) && entry[1] !== ''),
  );
}
