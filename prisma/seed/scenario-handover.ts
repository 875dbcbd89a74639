import { exactDay } from '../../libs/kernel/index.js';
import { AcceptTransfer, OfferTransfer, ReceiveTransfer, SendTransfer } from '../../libs/transfer/index.js';
import { edtf, note, record, register, weight } from './acts.js';
import { type DemoLoader } from './loader.js';

/**
 * At a show: Odile hands a juvenile of her crested geckos, dam unknown and hatched about a month before it was found, to a
 * buyer without an account. The buyer leaves with a printed record and a claim code.
 */
export async function juvenileAtTheShow(demo: DemoLoader): Promise<void> {
  const gecko = 'Correlophus ciliatus';
  demo.goTo(900);
  const sire = await register(demo, 'odile', 'sire', {
    taxon: gecko,
    name: 'Pepper',
    sex: 'male',
    originClass: 'bred',
    birth: { when: edtf(`${demo.daysAgo(2200).slice(0, 7)}~`), manner: 'hatched' },
  });
  const dam = await register(demo, 'odile', 'dam', {
    taxon: gecko,
    name: 'Nettle',
    sex: 'female',
    originClass: 'unknown',
    birth: { when: edtf(demo.daysAgo(2000).slice(0, 4)), manner: 'unknown' },
  });
  await register(demo, 'odile', 'second-dam', { taxon: gecko, name: 'Bramble', sex: 'female', originClass: 'bred' });
  demo.goTo(300);
  await register(demo, 'odile', 'held-back', {
    taxon: gecko,
    name: 'Sorrel',
    sex: 'female',
    originClass: 'bred',
    sireId: sire,
    damId: dam,
    birth: { when: exactDay(demo.daysAgo(302)), manner: 'hatched' },
    arrivedBy: 'born',
    since: demo.daysAgo(302),
  });
  const found = demo.goTo(130);
  const juvenile = await register(demo, 'odile', 'juvenile', {
    taxon: gecko,
    originClass: 'bred',
    sireId: sire,
    birth: { when: edtf(`${demo.daysAgo(165)}/${demo.daysAgo(135)}`), manner: 'hatched' },
    arrivedBy: 'born',
    since: found,
  });
  await record(demo, 'odile', 'juvenile-weight-1', juvenile, weight(2.1));
  await record(
    demo,
    'odile',
    'juvenile-private',
    juvenile,
    note('private', 'Either Nettle or Bramble laid it; both sat with Pepper.'),
  );
  demo.goTo(60);
  await record(demo, 'odile', 'juvenile-weight-2', juvenile, weight(9.4));
  await record(demo, 'odile', 'juvenile-care', juvenile, note('care', 'Takes fruit mix well; shed whole three times.'));
  const show = demo.goTo(40);
  const { viewer, keeperId } = await demo.as('odile', 'show-offer');
  const { transferId } = await demo.get(OfferTransfer).execute(viewer, {
    fromKeeperId: keeperId,
    kind: 'sale',
    toOutsideParty: { name: 'Rowan Pike', contact: 'rowan.pike@mail.example' },
    items: [{ animalId: juvenile }],
    price: { minor: 6000, currency: 'EUR' },
  });
  const step = { transferId };
  await demo.get(AcceptTransfer).execute((await demo.as('odile', 'show-accept')).viewer, step);
  await demo.get(SendTransfer).execute((await demo.as('odile', 'show-send')).viewer, { ...step, sentOn: show });
  await demo.get(ReceiveTransfer).execute((await demo.as('odile', 'show-receive')).viewer, {
    ...step,
    receivedOn: show,
    items: [{ animalId: juvenile, arrivals: [{ state: 'well', count: 1 }] }],
  });
}

/** Bram splits a lot of froglets and sends half of it to Petra by post; one arrives dead. */
export async function frogletsByPost(demo: DemoLoader): Promise<void> {
  demo.goTo(70);
  const lot = await register(demo, 'bram', 'froglets', {
    taxon: 'Dendrobates tinctorius',
    kind: 'lot',
    count: 24,
    originClass: 'bred',
    birth: { when: edtf(`${demo.daysAgo(85)}/${demo.daysAgo(72)}`), manner: 'metamorphosed' },
    arrivedBy: 'born',
    since: demo.daysAgo(72),
  });
  demo.goTo(12);
  const bram = await demo.as('bram', 'froglets-offer');
  const petra = await demo.as('petra', 'froglets-accept');
  const { transferId } = await demo.get(OfferTransfer).execute(bram.viewer, {
    fromKeeperId: bram.keeperId,
    toKeeperId: petra.keeperId,
    kind: 'gift',
    items: [{ animalId: lot, count: 12 }],
    message: 'Twelve of the spring froglets, eating flightless flies.',
  });
  demo.goTo(11);
  await demo.get(AcceptTransfer).execute(petra.viewer, { transferId });
  const sentOn = demo.goTo(9);
  await demo.get(SendTransfer).execute((await demo.as('bram', 'froglets-send')).viewer, { transferId, sentOn });
  const receivedOn = demo.goTo(7);
  await demo.get(ReceiveTransfer).execute((await demo.as('petra', 'froglets-receive')).viewer, {
    transferId,
    receivedOn,
    items: [
      {
        animalId: await demo.itemOf(transferId),
        arrivals: [
          { state: 'well', count: 11 },
          { state: 'dead', count: 1 },
        ],
      },
    ],
  });
}

/** House Tamarack offers a leopard gecko to Odile, who has not answered yet. */
export async function anOpenOffer(demo: DemoLoader): Promise<void> {
  demo.goTo(420);
  const gecko = await register(demo, 'tamarack', 'leopard', {
    taxon: 'Eublepharis macularius',
    name: 'Ochre',
    sex: 'female',
    originClass: 'bred',
    birth: { when: edtf(`${demo.daysAgo(450).slice(0, 7)}`), manner: 'hatched' },
  });
  demo.goTo(2);
  const tamarack = await demo.as('tamarack', 'leopard-offer');
  const odile = await demo.as('odile', 'none');
  await demo.get(OfferTransfer).execute(tamarack.viewer, {
    fromKeeperId: tamarack.keeperId,
    toKeeperId: odile.keeperId,
    kind: 'exchange',
    items: [{ animalId: gecko }],
    message: 'For one of your young females, as agreed.',
  });
}
