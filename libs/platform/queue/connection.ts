import {
  createPostgresBackend,
  createRedisBackend,
  type Job,
  type PostgresConnectionOptions,
  type PostgresQueueBackend,
  type Processor,
  Queue,
  type QueueOptions,
  Worker,
  type WorkerOptions,
} from 'bullmq';

/** Where the queue lives: Redis when an address is given, else the `bullmq` schema of the registry's own database. */
export type QueuePlace = { readonly databaseUrl: string; readonly redisUrl: string | undefined };

/** What a queued job carries. The message itself stays in the database, so the queue holds no personal data. */
export type QueuedData = { readonly messageId: string } | { readonly schedule: string };

export const QUEUE_NAME = 'kithbook';

/** Milliseconds a producer waits for the queue's server before it gives up; the outbox keeps the message. */
const PRODUCER_PATIENCE = 5_000;

/** Connections: one for the relay's batch and one for look-ups; the consumer needs one a running job at the most. */
const PRODUCER_CONNECTIONS = 2;
const CONSUMER_CONNECTIONS = 4;

function postgres(place: QueuePlace, max: number) {
  return {
    connectionString: place.databaseUrl,
    schema: 'bullmq',
    max,
    migrate: true,
    connectionTimeoutMillis: PRODUCER_PATIENCE,
  };
}

function redis(url: string) {
  // Without these an `add` waits for ever while the server is away, and the relay would hold its rows locked.
  return { url, enableOfflineQueue: false, commandTimeout: PRODUCER_PATIENCE };
}

type Options<T> = Omit<T, 'connection'>;

/** What is used of each side: the backends' own types differ in the rest. */
type JobsQueue = Pick<
  Queue<QueuedData, void>,
  | 'addBulk'
  | 'close'
  | 'getJobSchedulers'
  | 'getJobState'
  | 'remove'
  | 'removeJobScheduler'
  | 'upsertJobScheduler'
  | 'waitUntilReady'
>;
type JobsWorker = Pick<Worker<QueuedData, void>, 'close' | 'disconnect' | 'run' | 'waitUntilReady'>;

/** What a consumer calls: `onFailed` after each failed try, with the reason the queue gives when it was not tried at all. */
export type ConsumerEvents = {
  readonly process: Processor<QueuedData, void>;
  readonly onFailed: (job: Job<QueuedData, void> | undefined, error: Error) => void;
  readonly onTrouble: (error: Error) => void;
};

/** Two registries may share one Redis as long as their databases have different names. */
function prefixOf(place: QueuePlace): string {
  return `kithbook-${new URL(place.databaseUrl).pathname.slice(1)}`;
}

/** The producing side of the queue on whichever backend the place names. The caller closes it. */
export function openQueue(
  place: QueuePlace,
  options: Options<QueueOptions>,
  onTrouble: (error: Error) => void,
): JobsQueue {
  if (place.redisUrl === undefined) {
    const connection = postgres(place, PRODUCER_CONNECTIONS);
    const queue = new Queue<
      QueuedData,
      void,
      string,
      QueuedData,
      void,
      string,
      PostgresQueueBackend,
      PostgresConnectionOptions
    >(QUEUE_NAME, { ...options, connection }, createPostgresBackend);
    return queue.on('error', onTrouble);
  }
  return new Queue<QueuedData, void>(
    QUEUE_NAME,
    { ...options, prefix: prefixOf(place), connection: redis(place.redisUrl) },
    createRedisBackend,
  ).on('error', onTrouble);
}

/** The consuming side; it starts with `run()`. The caller closes it. */
export function openConsumer(place: QueuePlace, options: Options<WorkerOptions>, events: ConsumerEvents): JobsWorker {
  if (place.redisUrl === undefined) {
    const connection = postgres(place, CONSUMER_CONNECTIONS);
    return new Worker(QUEUE_NAME, events.process, { ...options, connection }, createPostgresBackend)
      .on('error', events.onTrouble)
      .on('failed', events.onFailed);
  }
  // The consumer waits with blocking commands, which must not time out; BullMQ reconnects it by itself.
  const connection = { url: place.redisUrl, maxRetriesPerRequest: null };
  return new Worker(QUEUE_NAME, events.process, { ...options, prefix: prefixOf(place), connection }, createRedisBackend)
    .on('error', events.onTrouble)
    .on('failed', events.onFailed);
}
