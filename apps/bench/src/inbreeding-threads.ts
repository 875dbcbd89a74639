import { once } from 'node:events';
import { isMainThread, Worker, workerData } from 'node:worker_threads';
import { inbreedingPart, type InbreedingWork, type Pedigree, shareInbreeding } from '../../../libs/genetics/index.js';

/** A meeting point for a number of threads: [how many wait, how often all have met]. */
type Meeting = { readonly state: Int32Array; readonly threads: number };

/** F of all in this thread and another one; null where the engine would not share the work. */
export async function inbreedingInTwoThreads(pedigree: Pedigree): Promise<Float64Array | null> {
  const work = shareInbreeding(pedigree);
  if (!work) return null;
  const meeting = { state: new Int32Array(new SharedArrayBuffer(8)), threads: 2 };
  const other = new Worker(new URL(import.meta.url), { workerData: { work, meeting } });
  const ended = once(other, 'exit');
  await once(other, 'online');
  runPart(work, meeting);
  const [code] = (await ended) as [number];
  if (code !== 0) throw new Error(`The other thread ended with code ${code}.`);
  return work.f;
}

function runPart(work: InbreedingWork, { state, threads }: Meeting): void {
  const part = inbreedingPart(work);
  while (part.next().done !== true) {
    const round = Atomics.load(state, 1);
    if (Atomics.add(state, 0, 1) === threads - 1) {
      Atomics.store(state, 0, 0);
      Atomics.add(state, 1, 1);
      Atomics.notify(state, 1);
    } else while (Atomics.load(state, 1) === round) Atomics.wait(state, 1, round);
  }
}

if (!isMainThread) {
  const { work, meeting } = workerData as { work: InbreedingWork; meeting: Meeting };
  runPart(work, meeting);
}
