import { type z } from 'zod';

/** Contract of one kind of job: who sends it and who handles it agree on this and nothing else. */
export type Job<T> = {
  /** `context.verb-noun`, for example `transfer.remind-arrival-quarantine`. */
  readonly name: string;
  readonly version: number;
  /** Ids and versions only: a handler reads the present state itself. */
  readonly payload: z.ZodType<T>;
  /** Tries before the job is given up and listed for the operator. */
  readonly attempts: number;
};

/** Declares a job contract. */
export function defineJob<T>(job: Job<T>): Job<T> {
  return job;
}
