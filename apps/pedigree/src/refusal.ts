/** Why the command cannot go on, said so that the keeper can act: one line with the remedy in it. Exit code 2. */
export class Refusal extends Error {
  override readonly name = 'Refusal';
}
