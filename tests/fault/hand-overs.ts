import { randomUUID } from 'node:crypto';
import { dayOf } from '../../libs/kernel/index.js';
import { type ApiClient, type Mutation } from './api-client.js';
import { type FaultKeeper, type FaultWorld } from './fault-world.js';
import { pick } from './random.js';

const OFFER = `mutation ($input: OfferTransferInput!) { offerTransfer(input: $input) { transfer { id } } }`;
const ACCEPT = `mutation ($input: AcceptTransferInput!) { acceptTransfer(input: $input) { transfer { id } } }`;
const SEND = `mutation ($input: SendTransferInput!) { sendTransfer(input: $input) { transfer { id } } }`;
const RECEIVE = `mutation ($input: ReceiveTransferInput!) { receiveTransfer(input: $input) { transfer { id } } }`;
const OPEN = `mutation ($input: OpenHandOverInput!) { openHandOver(input: $input) { transfer { id } code } }`;
const CONFIRM = `mutation ($input: ConfirmHandOverInput!) { confirmHandOver(input: $input) { transfer { id } } }`;
const PAY = `mutation ($input: DeclarePaymentInput!) { declarePayment(input: $input) { transfer { id paymentPlan { payments { id } } } } }`;
const PAID = `mutation ($input: ConfirmPaymentInput!) { confirmPayment(input: $input) { transfer { id } } }`;

const PRICE = { minor: 1_000, currency: 'EUR' };
/** Share of hand-overs that are sales whose property waits for the price. */
const SALES = 0.3;
/** Share of the first hand-overs of animals that are done in person with a code: later ones are out of a quarantine, and ask for a reason. */
const IN_PERSON = 0.5;
/** Codes a keeper enters at most: tries are counted by the hour, and each repeat is one. */
const CODES = 4;

/** Hand-overs that go on at the same time, each with animals of its own. */
const CLIENTS = 6;
/** Share of answered mutations that are repeated later. */
const REPEATS = 0.15;
/** How many answered mutations are remembered for that. */
const MEMORY = 50;

type Payload = {
  readonly transfer: { readonly id: string; readonly paymentPlan?: { readonly payments: readonly { id: string }[] } };
  readonly code?: string;
};

/** Clients that hand animals over through the API, from the offer to the receipt, and now and then ask again what was answered. */
export class HandOvers {
  private readonly answered: { mutation: Mutation; outcome: string }[] = [];
  /** Transfers the API said were offered, and received. */
  readonly offered: string[] = [];
  readonly received: string[] = [];
  /** What must not be: a refusal, another outcome for a key. */
  readonly complaints: string[] = [];
  private readonly codes = new Map<FaultKeeper, number>();

  constructor(
    private readonly api: ApiClient,
    private readonly world: FaultWorld,
    private readonly random: () => number,
  ) {}

  /** Works until `isOver`, then brings what was begun to its end. `signal` gives up waiting for the API. */
  async run(isOver: () => boolean, signal: AbortSignal): Promise<void> {
    const clients = Array.from({ length: CLIENTS }, async (_, client) => {
      const animals = this.world.animals
        .filter((_animal, index) => index % CLIENTS === client)
        .map((animal) => ({ ...animal, first: true }));
      while (!isOver()) {
        const animal = pick(this.random, animals);
        const receiver = pick(
          this.random,
          this.world.keepers.filter((keeper) => keeper !== animal.holder),
        );
        await this.handOver(animal, receiver, signal);
        animal.first = false;
        animal.holder = receiver;
      }
    });
    const ends = await Promise.allSettled(clients);
    for (const end of ends) if (end.status === 'rejected') this.complaints.push(String(end.reason));
  }

  private async handOver(
    { id: animalId, holder: giver, first }: { id: string; holder: FaultKeeper; first: boolean },
    receiver: FaultKeeper,
    signal: AbortSignal,
  ): Promise<void> {
    const today = dayOf(new Date());
    const sale = this.random() < SALES;
    const terms = sale ? { kind: 'sale', title: 'when_paid', price: PRICE } : { kind: 'gift' };
    const offer = { fromKeeperId: giver.keeperId, toKeeperId: receiver.keeperId, items: [{ animalId }], ...terms };
    const { id: transferId } = (await this.step(giver, OFFER, offer, signal)).transfer;
    this.offered.push(transferId);
    const items = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
    const codes = this.codes.get(receiver) ?? 0;
    if (first && codes < CODES && this.random() < IN_PERSON) {
      this.codes.set(receiver, codes + 1);
      const { code } = await this.step(giver, OPEN, { transferId }, signal);
      await this.step(receiver, CONFIRM, { transferId, code, items }, signal);
    } else {
      await this.step(receiver, ACCEPT, { transferId }, signal);
      await this.step(giver, SEND, { transferId, sentOn: today, reason: 'agreed between the keepers' }, signal);
      await this.step(receiver, RECEIVE, { transferId, receivedOn: today, items }, signal);
    }
    if (sale) {
      const { transfer } = await this.step(receiver, PAY, { transferId, minor: PRICE.minor, paidOn: today }, signal);
      const [payment, ...more] = transfer.paymentPlan?.payments ?? [];
      if (payment === undefined || more.length > 0) this.complaints.push(`${transferId} has not one payment`);
      else await this.step(giver, PAID, { paymentId: payment.id }, signal);
    }
    this.received.push(transferId);
  }

  /** One mutation, and what it gives. */
  private async step({ token }: FaultKeeper, document: string, input: object, signal: AbortSignal): Promise<Payload> {
    const mutation = { token, key: randomUUID(), document, input };
    const data = await this.api.mutate(mutation, signal);
    this.answered.push({ mutation, outcome: JSON.stringify(data) });
    if (this.answered.length > MEMORY) this.answered.shift();
    if (this.random() < REPEATS) await this.repeat(signal);
    const [payload] = Object.values(data as Record<string, Payload>);
    if (payload === undefined) throw new Error('The answer has no payload.');
    return payload;
  }

  private async repeat(signal: AbortSignal): Promise<void> {
    const { mutation, outcome } = pick(this.random, this.answered);
    const again = JSON.stringify(await this.api.mutate(mutation, signal));
    this.api.retries += 1;
    if (again !== outcome) this.complaints.push(`${mutation.key} gave ${outcome}, then ${again}`);
  }
}
