/** A mail with a code that proves who reads the mailbox, plain text. */
export type AccountMail = { readonly subject: string; readonly text: string };

/** Hours a code is good for. */
export const CODE_HOURS = { confirm_email: 72, reset_password: 1 } as const;
export type CodePurpose = keyof typeof CODE_HOURS;

/** The mail that carries a code. */
export function accountMail(purpose: CodePurpose, code: string): AccountMail {
  const hours = CODE_HOURS[purpose];
  const until = `It is good for ${hours === 1 ? 'one hour' : `${hours} hours`}, once.`;
  return purpose === 'confirm_email'
    ? {
        subject: 'Kithbook: confirm your address',
        text: `Somebody opened an account with this address. If it was you, confirm it with this code:\n\n${code}\n\n${until} If it was not you, do nothing: no other mail will come.\n`,
      }
    : {
        subject: 'Kithbook: a new password',
        text: `Somebody asked for a new password for the account with this address. If it was you, set it with this code:\n\n${code}\n\n${until} If it was not you, do nothing: your password stays as it is.\n`,
      };
}

/** What whoever reads an address hears when somebody opens an account with it, and it has one. It carries no code. */
export const ADDRESS_TAKEN_MAIL: AccountMail = {
  subject: 'Kithbook: you have an account',
  text: 'Somebody tried to open an account with this address, which has one. If it was you, sign in; if you do not know the password any more, ask for a new one (“requestPasswordReset”). If it was not you, do nothing: nothing was changed.\n',
};
