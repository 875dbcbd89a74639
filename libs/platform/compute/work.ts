/** A function that runs in a worker thread: where it is exported from, what it takes and what it gives. */
export type Work<Input, Output> = {
  /** URL of the module. */
  readonly module: string;
  /** Name of the export. */
  readonly name: string;
  /** Never set; carries the types from the definition to the call. */
  readonly types?: (input: Input) => Output;
};

/**
 * Names an exported function as work for a thread. Import the function's type only, so that its module is loaded in the
 * thread and not here:
 * `defineWork<typeof import('./count.js').count>(new URL('./count.js', import.meta.url), 'count')`.
 * Input and result are cloned on their way, memory in a SharedArrayBuffer is not copied.
 */
export function defineWork<Fn extends (input: never) => unknown>(
  module: URL,
  name: string,
): Work<Parameters<Fn>[0], Awaited<ReturnType<Fn>>> {
  return { module: module.href, name };
}
