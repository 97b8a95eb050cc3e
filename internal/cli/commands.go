package cli

import "github.com/spf13/cobra"

// commands lists every command. A new one is a file beside this one and a line here.
func commands(sh *shell) []*cobra.Command {
	return []*cobra.Command{
		demoCommand(sh),
		serveCommand(sh),
		benchCommand(sh),
		rigCommand(sh),
		solveCommand(sh),
		handoverCommand(sh),
		pullCommand(sh),
		demandCommand(sh),
		whatifCommand(sh),
		twinCommand(sh),
		settleCommand(sh),
		restateCommand(sh),
		meterCommand(sh),
		airCommand(sh),
		leakageCommand(sh),
		calibrateCommand(sh),
		verdictCommand(sh),
		matchCommand(sh),
		budgetCommand(sh),
		studyCommand(sh),
		compareBenchesCommand(sh),
		sectionsCommand(sh),
		slicesCommand(sh),
		ledgerCommand(sh),
		seriesCommand(sh),
		throttleCommand(sh),
		traverseCommand(sh),
		selfcheckCommand(sh),
	}
}
