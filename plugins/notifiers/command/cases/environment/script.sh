#!/bin/sh
env | sort | grep -v "^PWD=\|^_=\|^SHLVL=\|^PATH=\|^HOME=\|^LANG=\|^TZ=\|^OLDPWD=" >&2
