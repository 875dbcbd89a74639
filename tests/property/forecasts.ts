import { type ChangeCommand, forecastChange } from './change-rules.js';
import { type CodeCommand, forecastCode } from './code-rules.js';
import { type EggCommand, forecastEggs } from './egg-rules.js';
import { forecastGuard, type GuardCommand } from './guard-rules.js';
import { forecastLoan, type LoanCommand } from './loan-rules.js';
import { type Model } from './history-model.js';
import { type Forecast } from './forecast.js';
import { type Command, forecast } from './history-rules.js';
import { forecastTitle, type TitleCommand } from './title-rules.js';
import { forecastTransfer, type TransferCommand } from './transfer-rules.js';

/** A command of a history. Others that are added have a file of rules of their own. */
export type AnyCommand =
  Command | TransferCommand | TitleCommand | EggCommand | CodeCommand | GuardCommand | LoanCommand | ChangeCommand;

/** What should become of a command, by the rules of its kind. */
export function forecastOf(model: Model, command: AnyCommand): Forecast {
  switch (command.do) {
    case 'offer':
    case 'accept':
    case 'decline':
    case 'withdraw':
    case 'cancel':
    case 'send':
    case 'receive':
    case 'fail':
    case 'leaveOut':
    case 'takeUp':
    case 'expire':
      return forecastTransfer(model, command);
    case 'declare':
    case 'confirm':
    case 'question':
    case 'claim':
    case 'propose':
    case 'agree':
    case 'reply':
    case 'withdrawClaim':
      return forecastTitle(model, command);
    case 'lay':
    case 'tend':
    case 'hatch':
      return forecastEggs(model, command);
    case 'openCode':
    case 'enterCode':
    case 'wait':
      return forecastCode(model, command);
    case 'countersign':
    case 'uncountersign':
      return forecastGuard(model, command);
    case 'askDay':
    case 'recall':
    case 'answerDay':
    case 'withdrawDay':
    case 'pickYoung':
      return forecastLoan(model, command);
    case 'correctChange':
      return forecastChange(model, command);
    default:
      return forecast(model, command);
  }
}
