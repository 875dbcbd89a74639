import { GrantReading, ManageCollections, SetPartSharing } from '../../libs/custody/index.js';
import { addDays, type Day } from '../../libs/kernel/index.js';
import { SetClubListing } from '../../libs/membership/index.js';
import {
  AcceptTransfer,
  ClaimOwnership,
  ConfirmPayment,
  DeclarePayment,
  type OfferCommand,
  OfferTransfer,
  ReceiveTransfer,
  SendTransfer,
} from '../../libs/transfer/index.js';
import { register } from './acts.js';
import { type DemoLoader } from './loader.js';
import { type CastKey } from './people.js';

/** Somebody gives one animal to somebody else: offered and accepted that day. Gives the transfer. */
async function agree(
  demo: DemoLoader,
  [from, to]: readonly [CastKey, CastKey],
  step: string,
  animalId: string,
  terms: Partial<OfferCommand> & Pick<OfferCommand, 'kind'>,
): Promise<string> {
  const giver = await demo.as(from, `${step}-offer`);
  const receiver = await demo.as(to, `${step}-accept`);
  const { transferId } = await demo.get(OfferTransfer).execute(giver.viewer, {
    fromKeeperId: giver.keeperId,
    toKeeperId: receiver.keeperId,
    items: [{ animalId }],
    ...terms,
  });
  await demo.get(AcceptTransfer).execute(receiver.viewer, { transferId });
  return transferId;
}

/** The same, and it arrives well on that day. */
export async function give(
  demo: DemoLoader,
  between: readonly [CastKey, CastKey],
  step: string,
  animalId: string,
  on: Day,
  terms: Parameters<typeof agree>[4],
): Promise<string> {
  const transferId = await agree(demo, between, step, animalId, terms);
  const sending = { transferId, sentOn: on, way: 'in_person' as const };
  await demo.get(SendTransfer).execute((await demo.as(between[0], `${step}-send`)).viewer, sending);
  await demo.get(ReceiveTransfer).execute((await demo.as(between[1], `${step}-receive`)).viewer, {
    transferId,
    receivedOn: on,
    items: [{ animalId, arrivals: [{ state: 'well', count: 1 }] }],
  });
  return transferId;
}

const leopard = { taxon: 'Eublepharis macularius', originClass: 'bred' } as const;
const tortoise = { taxon: 'Testudo hermanni', originClass: 'bred' } as const;

/** Agreed on and not handed over yet: House Tamarack opens the hand-over when Freya stands at the door. */
export async function aHandOverAwaited(demo: DemoLoader): Promise<void> {
  demo.goTo(200);
  const gecko = await register(demo, 'tamarack', 'awaited', { ...leopard, name: 'Fennel', sex: 'male' });
  demo.goTo(1);
  await agree(demo, ['tamarack', 'freya'], 'awaited', gecko, {
    kind: 'gift',
    message: 'Come and fetch him on Saturday.',
  });
}

/** Sold in two instalments: the first is confirmed, the second is declared and waits for an answer; property waits with it. */
export async function aSaleInInstalments(demo: DemoLoader): Promise<void> {
  demo.goTo(400);
  const gecko = await register(demo, 'tamarack', 'instalments', { ...leopard, name: 'Copper', sex: 'female' });
  const on = demo.goTo(50);
  const sale = { kind: 'sale', title: 'when_paid', price: { minor: 12_000, currency: 'EUR' } } as const;
  const instalments = [20, -10].map((days) => ({ minor: 6_000, dueOn: demo.daysAgo(days) }));
  const transferId = await give(demo, ['tamarack', 'goran'], 'instalments', gecko, on, { ...sale, instalments });
  const pay = async (step: string, daysAgo: number): Promise<void> => {
    const payment = { transferId, minor: 6_000, paidOn: demo.goTo(daysAgo) };
    await demo.get(DeclarePayment).execute((await demo.as('goran', step)).viewer, payment);
  };
  await pay('instalment-1', 22);
  demo.goTo(21);
  const paymentId = await demo.paymentOf(transferId);
  await demo.get(ConfirmPayment).execute((await demo.as('tamarack', 'instalment-confirmed')).viewer, { paymentId });
  await pay('instalment-2', 2);
}

/** Goran gave Ciro a tortoise, and states now that half of it is still his. Ciro has not answered. */
export async function anOpenClaim(demo: DemoLoader): Promise<void> {
  const since = demo.goTo(900);
  const female = await register(demo, 'goran', 'claimed', { ...tortoise, name: 'Savory', sex: 'female' });
  const on = demo.goTo(260);
  await give(demo, ['goran', 'ciro'], 'claimed', female, on, { kind: 'exchange' });
  demo.goTo(3);
  const { viewer, keeperId } = await demo.as('goran', 'claim');
  await demo.get(ClaimOwnership).execute(viewer, {
    keeperId,
    animalId: female,
    share: { parts: 1, of: 2 },
    since,
    statement: 'We agreed on half and half when she went to Ciro; the other animal of the exchange never came.',
  });
}

/** Freya shows one collection to the club and withholds one animal of it; Ivo, who treats it, reads that one for a while. */
export async function whatFreyaShows(demo: DemoLoader): Promise<void> {
  demo.goTo(330);
  const shown = await register(demo, 'freya', 'shown', { ...leopard, name: 'Teasel', sex: 'female' });
  const treated = await register(demo, 'freya', 'treated', { ...leopard, name: 'Yarrow', sex: 'female' });
  demo.goTo(30);
  const { viewer, keeperId } = await demo.as('freya', 'collection-opened');
  const collections = demo.get(ManageCollections);
  const { collectionId } = await collections.open(viewer, { keeperId, name: 'Window shelf' });
  const moved = { animalIds: [shown, treated], collectionId };
  await collections.move((await demo.as('freya', 'collection-filled')).viewer, moved);
  const sharing = demo.get(SetPartSharing);
  const toClub = { collectionId, holdingsShown: 'club', lineageWithheld: false } as const;
  await sharing.ofCollection((await demo.as('freya', 'collection-shown')).viewer, toClub);
  demo.goTo(5);
  const hidden = { holdingsShown: 'nobody', lineageWithheld: true } as const;
  const keeps = await demo.as('freya', 'animal-hidden');
  await sharing.ofAnimals(keeps.viewer, { animalIds: [treated], ...hidden });
  await demo.get(GrantReading).grant((await demo.as('freya', 'guest')).viewer, {
    animalId: treated,
    toKeeperId: (await demo.as('ivo', 'none')).keeperId,
    until: addDays(demo.daysAgo(0), 9),
  });
}

/** Wren is a minor, and Freya the guardian: a gecko that Wren has accepted waits for her to countersign. */
export async function aMinorReceives(demo: DemoLoader): Promise<void> {
  demo.goTo(150);
  const gecko = await register(demo, 'tamarack', 'for-wren', { ...leopard, name: 'Quince' });
  demo.goTo(4);
  await agree(demo, ['tamarack', 'wren'], 'for-wren', gecko, { kind: 'gift' });
}

/** The registrar lets the club be found by whoever looks for one. */
export async function aClubThatIsFound(demo: DemoLoader): Promise<void> {
  demo.goTo(60);
  const { viewer } = await demo.as('tamarack', 'club-listed');
  const taxa = ['Correlophus ciliatus', 'Dendrobates tinctorius', tortoise.taxon];
  const taxonIds = await Promise.all(taxa.map((taxon) => demo.taxonId(taxon)));
  for (const clubId of viewer.clubIds)
    await demo.get(SetClubListing).execute(viewer, {
      clubId,
      listed: true,
      region: 'XA-NO',
      taxonIds,
      admission: 'application',
    });
}
