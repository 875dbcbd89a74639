import { randomUUID } from 'node:crypto';
import { dayOf } from '../../libs/kernel/index.js';
import { type ApiClient, type Mutation } from './api-client.js';
import { type FaultKeeper, type FaultWorld } from './fault-world.js';
import { pick } from './random.js';

const OFFER = `mutation ($input: OfferTransferInput!) { offerTransfer(input: $input) { transfer { id } } }`;
const ACCEPT = `mutation ($input: AcceptTransferInput!) { acceptTransfer(input: $input) { transfer { id } } }`;
const SEND = `mutation ($input: SendTransferInput!) { sendTransfer(input: $input) { transfer { id } } }`;
const RECEIVE = `mutation ($input: ReceiveTransferInput!) { receiveTransfer(input: $input) { transfer { id } } }`;

/** Hand-overs that go on at the same time, each with animals of its own. */
const CLIENTS = 6;
/** Share of answered mutations that are repeated later. */
const REPEATS = 0.15;
/** How many answered mutations are remembered for that. */
const MEMORY = 50;

/** Clients that hand animals over through the API, from the offer to the receipt, and now and then ask again what was answered. */
export class HandOvers {
  private readonly answered: { mutation: Mutation; outcome: string }[] = [];
  /** Transfers the API said were offered, and received. */
  readonly offered: string[] = [];
  readonly received: string[] = [];
  /** What must not be: a refusal, another outcome for a key. */
  readonly complaints: string[] = [];

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
        .map((animal) => ({ ...animal }));
      while (!isOver()) {
        const animal = pick(this.random, animals);
        const receiver = pick(
          this.random,
          this.world.keepers.filter((keeper) => keeper !== animal.holder),
        );
        await this.handOver(animal.id, animal.holder, receiver, signal);
        animal.holder = receiver;
      }
    });
    const ends = await Promise.allSettled(clients);
    for (const end of ends) if (end.status === 'rejected') this.complaints.push(String(end.reason));
  }

  private async handOver(
    animalId: string,
    giver: FaultKeeper,
    receiver: FaultKeeper,
    signal: AbortSignal,
  ): Promise<void> {
    const today = dayOf(new Date());
    const offer = { fromKeeperId: giver.keeperId, toKeeperId: receiver.keeperId, kind: 'gift', items: [{ animalId }] };
    const transferId = await this.step(giver, OFFER, offer, signal);
    this.offered.push(transferId);
    await this.step(receiver, ACCEPT, { transferId }, signal);
    await this.step(giver, SEND, { transferId, sentOn: today, reason: 'agreed between the keepers' }, signal);
    const items = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
    await this.step(receiver, RECEIVE, { transferId, receivedOn: today, items }, signal);
    this.received.push(transferId);
  }

  /** One mutation; returns the id of its transfer. */
  private async step({ token }: FaultKeeper, document: string, input: object, signal: AbortSignal): Promise<string> {
    const mutation = { token, key: randomUUID(), document, input };
    const data = await this.api.mutate(mutation, signal);
    this.answered.push({ mutation, outcome: JSON.stringify(data) });
    if (this.answered.length > MEMORY) this.answered.shift();
    if (this.random() < REPEATS) await this.repeat(signal);
    const [payload] = Object.values(data as Record<string, { transfer: { id: string } }>);
    if (payload === undefined) throw new Error('The answer has no payload.');
    return payload.transfer.id;
  }

  private async repeat(signal: AbortSignal): Promise<void> {
    const { mutation, outcome } = pick(this.random, this.answered);
    const again = JSON.stringify(await this.api.mutate(mutation, signal));
    this.api.retries += 1;
    if (again !== outcome) this.complaints.push(`${mutation.key} gave ${outcome}, then ${again}`);
  }
}
