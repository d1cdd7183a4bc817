# What becomes of a line at zsh's own prompt when the tab key is pressed: "<line>" is printed.
#   zsh -f completedByZsh.zsh COMPLETION FOLDER LINE
zmodload zsh/zpty
zpty shell zsh -f -i
zpty -w shell "PS1=; cd $2; autoload -U compinit; compinit -u -D; source $1"
zpty -w shell 'show() { print -r -- "<$BUFFER>"; BUFFER=; }; zle -N show; bindkey "^X" show; print rea""dy'
zpty -r shell said '*ready*'
zpty -w -n shell "$3"$'\t\x18'
zpty -r shell said '*<stillcount*>*'
print -r -- $said
zpty -d shell
